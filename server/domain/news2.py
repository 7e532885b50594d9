"""NEWS2: the early warning score of adults, from one set of vital signs.

Source: Royal College of Physicians, National Early Warning Score (NEWS) 2, 2017 (ISBN
978-1-86016-682-2): chart 1 for the bands, charts 2 and 4 for thresholds and response. It is not
for patients under 16 and not for pregnancy, and an incomplete set has no total: then the score is
"not calculated" with its reason, never 0. The second scale of SpO2 holds only where a competent
clinician has recorded that decision for the patient.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from typing import Final

from server.domain.payloads import Observed
from server.domain.request import Patient
from server.domain.words import Consciousness

SOURCE: Final = "Royal College of Physicians, NEWS2, 2017, charts 1, 2 and 4"
FROM_YEARS: Final = 16
HYPERCAPNIC_SCALE: Final = 2
THREE: Final = 3

Bands = tuple[tuple[int, int], ...]
"""(highest value of the band, score) from below; the last band is open above."""

_OPEN: Final = 10_000
RESPIRATIONS: Final[Bands] = ((8, 3), (11, 1), (20, 0), (24, 2), (_OPEN, 3))
SPO2_SCALE_1: Final[Bands] = ((91, 3), (93, 2), (95, 1), (_OPEN, 0))
SPO2_SCALE_2_ON_AIR: Final[Bands] = ((83, 3), (85, 2), (87, 1), (_OPEN, 0))
SPO2_SCALE_2_ON_OXYGEN: Final[Bands] = (
    (83, 3), (85, 2), (87, 1), (92, 0), (94, 1), (96, 2), (_OPEN, 3),
)  # fmt: skip
SYSTOLIC: Final[Bands] = ((90, 3), (100, 2), (110, 1), (219, 0), (_OPEN, 3))
PULSE: Final[Bands] = ((40, 3), (50, 1), (90, 0), (110, 1), (130, 2), (_OPEN, 3))
TEMPERATURE_TENTHS: Final[Bands] = ((350, 3), (360, 1), (380, 0), (390, 1), (_OPEN, 2))
OXYGEN_SCORE: Final = 2
NOT_ALERT_SCORE: Final = 3


class Risk(StrEnum):
    """The published levels of risk, lowest first."""

    LOW = "low"
    LOW_MEDIUM = "low-medium"
    MEDIUM = "medium"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Response:
    """The published response to a level: how often to observe, and what is done."""

    frequency: str
    response: str


ROUTINE: Final = Response("at least every 12 h", "Routine observations.")
RESPONSE: Final[Mapping[Risk, Response]] = {
    Risk.LOW: Response(
        "every 4 to 6 h",
        "A registered nurse assesses, and decides how often to observe and whether to escalate.",
    ),
    Risk.LOW_MEDIUM: Response(
        "at least every hour",
        "A registered nurse informs the medical team, for a review on the ward.",
    ),
    Risk.MEDIUM: Response(
        "at least every hour",
        "A registered nurse informs the medical team at once, for an urgent assessment by"
        " clinicians competent in acute illness; care where the patient can be monitored.",
    ),
    Risk.HIGH: Response(
        "continuously",
        "A registered nurse informs the medical team at registrar level or above at once, for an"
        " emergency assessment by a team with critical care and airway skills; a higher level of"
        " care is considered.",
    ),
}
_MEDIUM_FROM: Final = 5
_HIGH_FROM: Final = 7


@dataclass(frozen=True, slots=True)
class News2:
    """A score of a full set. `subscores` are by sign, in the order of the chart."""

    score: int
    risk: Risk
    subscores: Mapping[str, int]
    spo2_scale: int

    @property
    def single_three(self) -> bool:
        """Whether one sign alone scores three."""
        return THREE in self.subscores.values()

    @property
    def published(self) -> Response:
        """The published response; local policy decides what is done."""
        return ROUTINE if self.score == 0 else RESPONSE[self.risk]


@dataclass(frozen=True, slots=True)
class NotCalculated:
    """Why there is no score, and the sub-scores of the signs that are there, if they may be."""

    reason: str
    subscores: Mapping[str, int]


def news2(observed: Observed, patient: Patient, on: date) -> News2 | NotCalculated:
    """Answer the score of a set that was taken `on` a day of the ward, or why there is none."""
    reason = _not_for(patient, on)
    if reason is not None:
        return NotCalculated(reason, {})
    scale = HYPERCAPNIC_SCALE if patient.spo2_scale == HYPERCAPNIC_SCALE else 1
    subscores = dict(_subscores(observed, scale))
    missing = _missing(observed)
    if missing:
        return NotCalculated(f"incomplete set: {', '.join(missing)} not recorded", subscores)
    score = sum(subscores.values())
    return News2(score, risk_of(score, THREE in subscores.values()), subscores, scale)


def _not_for(patient: Patient, on: date) -> str | None:
    age = patient.age_years(on)
    if age is None:
        return "the birth date is not recorded, and the score is for patients of 16 and over"
    if age < FROM_YEARS:
        return "under 16: use the paediatric chart"
    if patient.pregnant:
        return "pregnant or recently pregnant: use the maternity chart"
    return None


def risk_of(score: int, single_three: bool) -> Risk:  # noqa: FBT001 - a fact of the set
    """Answer the published level of a total."""
    if score >= _HIGH_FROM:
        return Risk.HIGH
    if score >= _MEDIUM_FROM:
        return Risk.MEDIUM
    return Risk.LOW_MEDIUM if single_three else Risk.LOW


def tenths(value: float) -> int:
    """Answer a temperature in whole tenths of a degree, halves away from zero."""
    return _rounded(value, "0.1", 10)


def whole(value: float) -> int:
    """Answer a sign as a whole number, halves away from zero."""
    return _rounded(value, "1", 1)


def _rounded(value: float, step: str, times: int) -> int:
    # By its decimal digits: 38.05 is written as a binary number just below it.
    return int(Decimal(repr(value)).quantize(Decimal(step), ROUND_HALF_UP) * times)


def band_score(value: int, bands: Bands) -> int:
    """Answer the score of the band that a value lies in."""
    return next(score for highest, score in bands if value <= highest)


def _subscores(observed: Observed, scale: int) -> Iterator[tuple[str, int]]:
    if observed.respirations_per_min is not None:
        yield "respiration_rate", band_score(whole(observed.respirations_per_min), RESPIRATIONS)
    yield from _oxygen_subscores(observed, scale)
    if observed.systolic_mmhg is not None:
        yield "systolic_bp", band_score(whole(observed.systolic_mmhg), SYSTOLIC)
    if observed.pulse_per_min is not None:
        yield "pulse", band_score(whole(observed.pulse_per_min), PULSE)
    if observed.consciousness is not None:
        alert = observed.consciousness is Consciousness.ALERT
        yield "consciousness", 0 if alert else NOT_ALERT_SCORE
    if observed.temperature_c is not None:
        yield "temperature", band_score(tenths(observed.temperature_c), TEMPERATURE_TENTHS)


def _oxygen_subscores(observed: Observed, scale: int) -> Iterator[tuple[str, int]]:
    """SpO2 and oxygen; by the second scale SpO2 has no score while the gas is not known."""
    bands = _spo2_bands(scale, observed.on_oxygen)
    if observed.spo2_percent is not None and bands is not None:
        yield "spo2", band_score(whole(observed.spo2_percent), bands)
    if observed.on_oxygen is not None:
        yield "air_or_oxygen", OXYGEN_SCORE if observed.on_oxygen else 0


def _spo2_bands(scale: int, on_oxygen: bool | None) -> Bands | None:  # noqa: FBT001 - a fact
    if scale != HYPERCAPNIC_SCALE:
        return SPO2_SCALE_1
    if on_oxygen is None:
        return None
    return SPO2_SCALE_2_ON_OXYGEN if on_oxygen else SPO2_SCALE_2_ON_AIR


_NEEDED: Final = (
    ("respirations_per_min", "respirations"),
    ("spo2_percent", "SpO2"),
    ("on_oxygen", "air or oxygen"),
    ("systolic_mmhg", "systolic pressure"),
    ("pulse_per_min", "pulse"),
    ("consciousness", "consciousness"),
    ("temperature_c", "temperature"),
)


def _missing(observed: Observed) -> list[str]:
    return [words for field, words in _NEEDED if getattr(observed, field) is None]
