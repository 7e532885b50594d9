"""Facts at the bedside: identity, vital signs, a suspected reaction."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.bodies.facts import Fact
from server.api.fields import Consciousness, Line, Lines, Ref, Strict, Text, within
from server.api.instants import Instant
from server.domain import limits


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


class Signs(Strict):
    """One set of vital signs; a sign that was not taken is left out."""

    temperature_c: Annotated[float, within(limits.TEMPERATURE_C)] | None = None
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


class ReactionSuspectedFact(Fact):
    """Somebody suspects a reaction."""

    kind: Literal["reaction_suspected"]
    symptoms: Lines


class ReactionStepFact(Fact):
    """One step of the local reaction procedure was done."""

    kind: Literal["reaction_step"]
    step: Line


class ReactionClosedFact(Fact):
    """The suspicion was closed with an outcome."""

    kind: Literal["reaction_closed"]
    outcome: Text
    classification: Line | None = None


BedsideFact = (
    IdentityCheckedFact
    | ObservedFact
    | ReactionSuspectedFact
    | ReactionStepFact
    | ReactionClosedFact
)
