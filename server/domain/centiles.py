"""Pulse, respirations and systolic pressure of a child against published references.

Pulse and respirations: Fleming S, Thompson M, Stevens R et al., Normal ranges of heart rate and
respiratory rate in children from birth to 18 years, Lancet 2011;377:1011-18: the values of the
centile curves at given ages, rounded to whole numbers. The curves are of healthy children awake;
one with a fever or in distress sits higher. Between two published ages the value is drawn straight
and rounded; we chose the points over the published age bands, because a band jumps at its edge.
Systolic pressure: the lowest acceptable value of the Pediatric Advanced Life Support course.

It is shown instead of a score that is not for children; it scores nothing and advises nothing.
"""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from server.domain.news2 import FROM_YEARS, whole
from server.domain.payloads import Observed
from server.domain.request import Patient, full_years

SOURCE: Final = "Fleming et al., Lancet 2011;377:1011-18, centiles of healthy children awake"
FLOOR_SOURCE: Final = "Pediatric Advanced Life Support: lowest systolic pressure by age"

Row = tuple[int, int, int, int, int]

# Months of age, then the 1st, 10th, 50th, 90th and 99th centile per minute.
PULSE: Final[tuple[tuple[int, Row], ...]] = (
    (0, (90, 107, 127, 148, 164)),
    (1, (108, 125, 144, 165, 182)),
    (3, (106, 123, 142, 162, 179)),
    (6, (101, 117, 137, 155, 172)),
    (9, (95, 111, 131, 148, 165)),
    (12, (92, 107, 126, 143, 159)),
    (18, (85, 100, 119, 138, 153)),
    (24, (80, 95, 113, 132, 146)),
    (36, (73, 89, 106, 125, 139)),
    (48, (69, 84, 102, 121, 134)),
    (60, (65, 81, 98, 117, 131)),
    (72, (62, 78, 95, 114, 127)),
    (96, (56, 72, 88, 108, 120)),
    (120, (52, 67, 84, 103, 115)),
    (144, (49, 64, 80, 99, 111)),
    (168, (46, 61, 77, 95, 107)),
    (180, (45, 60, 75, 94, 106)),
    (192, (44, 59, 74, 92, 104)),
    (204, (42, 57, 73, 91, 103)),
    (216, (41, 56, 71, 90, 102)),
)
RESPIRATIONS: Final[tuple[tuple[int, Row], ...]] = (
    (0, (26, 35, 44, 58, 68)),
    (1, (25, 35, 43, 57, 67)),
    (3, (24, 34, 42, 56, 65)),
    (6, (23, 32, 40, 54, 62)),
    (9, (23, 31, 38, 51, 60)),
    (12, (22, 30, 37, 49, 57)),
    (18, (20, 26, 33, 43, 49)),
    (24, (18, 24, 30, 37, 42)),
    (36, (17, 21, 26, 31, 35)),
    (48, (17, 20, 24, 28, 31)),
    (60, (17, 20, 23, 26, 29)),
    (72, (16, 19, 22, 25, 28)),
    (96, (15, 17, 20, 23, 26)),
    (120, (14, 16, 19, 22, 25)),
    (144, (13, 15, 18, 22, 24)),
    (168, (12, 14, 17, 21, 23)),
    (180, (11, 14, 17, 20, 23)),
    (192, (11, 13, 16, 19, 22)),
    (204, (10, 13, 16, 19, 21)),
    (216, (10, 13, 15, 18, 21)),
)
DAYS_IN_MONTH: Final = 365.25 / 12
_NEWBORN_DAYS: Final = 28
_NEWBORN_FLOOR: Final = 60
_INFANT_FLOOR: Final = 70
_FLOOR_PER_YEAR: Final = 2
_ADULT_FLOOR: Final = 90
_ADULT_FLOOR_FROM_YEARS: Final = 10


class Band(StrEnum):
    """Where a value lies among healthy children of the age."""

    BELOW_P1 = "below the 1st centile"
    P1_TO_P10 = "between the 1st and the 10th centile"
    P10_TO_P90 = "between the 10th and the 90th centile"
    P90_TO_P99 = "between the 90th and the 99th centile"
    ABOVE_P99 = "above the 99th centile"


@dataclass(frozen=True, slots=True)
class Placed:
    """A value per minute, where it lies, and the centiles at the age (1, 10, 50, 90, 99)."""

    value: float
    band: Band
    centiles: Row


@dataclass(frozen=True, slots=True)
class Floor:
    """A systolic pressure and the lowest acceptable one of the age, in mmHg."""

    value: float
    floor_mmhg: int

    @property
    def below(self) -> bool:
        """Whether it lies under it."""
        return self.value < self.floor_mmhg


@dataclass(frozen=True, slots=True)
class ChildSigns:
    """A child's signs against the references; None: not taken."""

    pulse: Placed | None
    respirations: Placed | None
    systolic: Floor | None


def is_child(patient: Patient, on: date) -> bool:
    """Whether the patient is known to be under the age that adult scores begin at."""
    age = patient.age_years(on)
    return age is not None and age < FROM_YEARS


def child_signs(observed: Observed, patient: Patient, on: date) -> ChildSigns | None:
    """Answer how a child's set lies, None for anybody who is not known to be a child."""
    born = patient.birth_date
    if born is None or not is_child(patient, on):
        return None
    months = months_old(born, on)
    return ChildSigns(
        pulse=_placed(observed.pulse_per_min, pulse_centiles(months)),
        respirations=_placed(observed.respirations_per_min, respiration_centiles(months)),
        systolic=_against_floor(observed.systolic_mmhg, systolic_floor_mmhg(born, on)),
    )


def months_old(born: date, on: date) -> float:
    """Answer an age in months of equal length."""
    return max(0, (on - born).days) / DAYS_IN_MONTH


def pulse_centiles(months: float) -> Row:
    """Answer the centiles of the pulse per minute at an age of up to 18 years."""
    return _between(PULSE, months)


def respiration_centiles(months: float) -> Row:
    """Answer the centiles of the respirations per minute at an age of up to 18 years."""
    return _between(RESPIRATIONS, months)


def systolic_floor_mmhg(born: date, on: date) -> int:
    """Answer the lowest acceptable systolic pressure in mmHg, by days and then by full years."""
    years = full_years(born, on)
    if years >= _ADULT_FLOOR_FROM_YEARS:
        return _ADULT_FLOOR
    if (on - born).days <= _NEWBORN_DAYS:
        return _NEWBORN_FLOOR
    return _INFANT_FLOOR + _FLOOR_PER_YEAR * years


def _between(points: tuple[tuple[int, Row], ...], months: float) -> Row:
    """The straight line between the two published ages around an age."""
    ages = [age for age, _ in points]
    after = min(bisect_right(ages, months), len(points) - 1)
    (early, low), (late, high) = points[after - 1], points[after]
    part = min(1.0, (months - early) / (late - early))
    p1, p10, p50, p90, p99 = (
        whole(first + part * (second - first)) for first, second in zip(low, high, strict=True)
    )
    return (p1, p10, p50, p90, p99)


def _placed(value: float | None, centiles: Row) -> Placed | None:
    return None if value is None else Placed(value, band_of(value, centiles), centiles)


def band_of(value: float, centiles: Row) -> Band:
    """Answer where a value lies; one at a centile belongs to the band nearer the middle."""
    p1, p10, _, p90, p99 = centiles
    if value < p1:
        return Band.BELOW_P1
    if value > p99:
        return Band.ABOVE_P99
    if value < p10:
        return Band.P1_TO_P10
    return Band.P90_TO_P99 if value > p90 else Band.P10_TO_P90


def _against_floor(value: float | None, floor: int) -> Floor | None:
    return None if value is None else Floor(value, floor)
