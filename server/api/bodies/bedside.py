"""Facts at the bedside: identity and vital signs."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from server.api.bodies.facts import Fact
from server.api.fields import Consciousness, Line, Lines, Ref, Strict, within
from server.api.instants import Instant
from server.domain import limits
from server.domain.errors import Invalid
from server.domain.observations import SIGNS
from server.domain.payloads.values import require_celsius


class CheckedItemBody(Strict):
    """One item read from two places, and whether the two agreed."""

    item: Line
    matched: bool


class IdentityCheckedFact(Fact):
    """The bedside identity check, item by item."""

    kind: Literal["identity_checked"]
    first_by: Line
    second_by: Line | None = None
    items: Annotated[list[CheckedItemBody], Field(min_length=1, max_length=limits.LIST_ITEMS)]
    interrupted: bool = False


def _with_something(schema: dict[str, Any]) -> None:
    """Say in the document what the domain asks for: a set has at least one sign or symptom."""
    taken = [_has(name, {"not": {"type": "null"}}) for name in SIGNS]
    schema["anyOf"] = [*taken, _has("symptoms", {"minItems": 1})]


def _has(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"required": [name], "properties": {name: schema}}


def _celsius(given: Any) -> Any:
    """Say which slip an impossible temperature looks like, before its bounds refuse it."""
    if isinstance(given, int | float) and not isinstance(given, bool):
        try:
            require_celsius("temperature_c", given)
        except Invalid as wrong:
            raise ValueError(wrong.message) from None
    return given


class Signs(Strict):
    """One set of vital signs; a sign that was not taken is left out."""

    model_config = ConfigDict(json_schema_extra=_with_something)

    temperature_c: (
        Annotated[float, within(limits.TEMPERATURE_C), BeforeValidator(_celsius)] | None
    ) = None
    pulse_per_min: Annotated[float, within(limits.PULSE_PER_MIN)] | None = None
    respirations_per_min: Annotated[float, within(limits.RESPIRATIONS_PER_MIN)] | None = None
    systolic_mmhg: Annotated[float, within(limits.SYSTOLIC_MMHG)] | None = None
    diastolic_mmhg: Annotated[float, within(limits.DIASTOLIC_MMHG)] | None = None
    spo2_percent: Annotated[float, within(limits.SPO2_PERCENT)] | None = None
    on_oxygen: bool | None = None
    consciousness: Consciousness | None = None
    symptoms: Lines = Field(default_factory=list)


class ObservedFact(Fact, Signs):
    """A set of vital signs taken for this unit; it counts for the patient's other units too."""

    kind: Literal["observed"]


class ObservationBody(Signs):
    """A set of vital signs of a patient."""

    happened_at: Instant
    staff_id: Ref | None = None


BedsideFact = IdentityCheckedFact | ObservedFact
