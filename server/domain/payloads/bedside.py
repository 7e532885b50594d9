"""At the bedside: identity and vital signs."""

from dataclasses import dataclass

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads.values import (
    require_celsius,
    require_pressure,
    require_text,
    require_texts,
    require_within,
)
from server.domain.words import Consciousness


@dataclass(frozen=True, slots=True)
class CheckedItem:
    """One item read from two places, and whether the two agreed."""

    item: str
    matched: bool

    def __post_init__(self) -> None:
        require_text("item", self.item, limits.SHORT_TEXT)


@dataclass(frozen=True, slots=True)
class IdentityChecked:
    """The bedside identity check by one or two people, item by item."""

    first_by: str
    items: tuple[CheckedItem, ...]
    second_by: str | None = None
    interrupted: bool = False

    def __post_init__(self) -> None:
        require_text("first_by", self.first_by, limits.SHORT_TEXT)
        require_text("second_by", self.second_by, limits.SHORT_TEXT)
        if self.second_by == self.first_by:
            raise Invalid("second_by", "is the first checker; expected another person")
        if not self.items:
            raise Invalid("items", "is empty; expected at least one item that was read")

    @property
    def mismatches(self) -> tuple[str, ...]:
        """The items that did not agree."""
        return tuple(item.item for item in self.items if not item.matched)

    @property
    def passed(self) -> bool:
        """Whether everything agreed and nothing interrupted it."""
        return not self.interrupted and not self.mismatches


@dataclass(frozen=True, slots=True)
class Observed:
    """One set of vital signs, taken at one instant. A sign not taken is None.

    Whatever cannot be is refused with `Invalid`: a value outside its bounds, a temperature in °F,
    a systolic pressure that is not above the diastolic one, a set of nothing.
    """

    temperature_c: float | None = None
    pulse_per_min: float | None = None
    respirations_per_min: float | None = None
    systolic_mmhg: float | None = None
    diastolic_mmhg: float | None = None
    spo2_percent: float | None = None
    on_oxygen: bool | None = None
    consciousness: Consciousness | None = None
    symptoms: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require_celsius("temperature_c", self.temperature_c)
        require_within("pulse_per_min", self.pulse_per_min, limits.PULSE_PER_MIN)
        require_within(
            "respirations_per_min", self.respirations_per_min, limits.RESPIRATIONS_PER_MIN
        )
        require_within("systolic_mmhg", self.systolic_mmhg, limits.SYSTOLIC_MMHG)
        require_within("diastolic_mmhg", self.diastolic_mmhg, limits.DIASTOLIC_MMHG)
        require_pressure("systolic_mmhg", self.systolic_mmhg, self.diastolic_mmhg)
        require_within("spo2_percent", self.spo2_percent, limits.SPO2_PERCENT)
        require_texts("symptoms", self.symptoms)
        self._require_something()

    def _require_something(self) -> None:
        signs = (
            self.temperature_c,
            self.pulse_per_min,
            self.respirations_per_min,
            self.systolic_mmhg,
            self.diastolic_mmhg,
            self.spo2_percent,
            self.on_oxygen,
            self.consciousness,
        )
        if all(sign is None for sign in signs) and not self.symptoms:
            raise Invalid("temperature_c", "no sign was given; expected at least one")
