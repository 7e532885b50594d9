"""Implausible signs: values that can be, but are asked about once before they are recorded.

What cannot be is refused by the payload (`server/domain/limits.py`, `Observed`); a change from the
baseline is not asked about here, it raises a prompt at once (`server/domain/prompts.py`). So a
question never stands between a nurse and a true alarm for longer than one press.

No published standard for asking at the bedside was found. The ranges are design limits, taken from:

sign          adult                 from
temperature   <= 35.0, >= 40.0 °C   NEWS2 (RCP 2017) scores 3 at 35.0; 40.0 chosen here
pulse         <= 40, >= 131         NEWS2: the bands that score 3
respirations  <= 8, >= 25           NEWS2: the bands that score 3
systolic      <= 90, >= 220 mmHg    NEWS2: the bands that score 3
diastolic     <= 40, >= 120 mmHg    chosen here
SpO2          <= 91 %               NEWS2, scale 1: the band that scores 3; scale 2: <= 83 %

child (under 16)                    from
temperature   <= 35.5, >= 39.5 °C   chosen here
pulse, resp.  outside p1 to p99     Fleming et al., Lancet 2011 (`server/domain/centiles.py`)
systolic      below the floor       Pediatric Advanced Life Support, by age
SpO2          < 92 %                chosen here
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from server.domain.centiles import (
    is_child,
    months_old,
    pulse_centiles,
    respiration_centiles,
    systolic_floor_mmhg,
)
from server.domain.news2 import HYPERCAPNIC_SCALE
from server.domain.payloads import Observed
from server.domain.request import Patient

Range = tuple[float, float]
"""The lowest and the highest value that is not asked about."""

_OPEN: Final = float("inf")
ADULT: Final[Mapping[str, Range]] = {
    "temperature_c": (35.1, 39.9),
    "pulse_per_min": (41, 130),
    "respirations_per_min": (9, 24),
    "systolic_mmhg": (91, 219),
    "diastolic_mmhg": (41, 119),
    "spo2_percent": (92, _OPEN),
}
HYPERCAPNIC_SPO2: Final[Range] = (84, _OPEN)
CHILD: Final[Mapping[str, Range]] = {
    "temperature_c": (35.6, 39.4),
    "spo2_percent": (92, _OPEN),
}


@dataclass(frozen=True, slots=True)
class Doubt:
    """A sign to ask about; `low` says that it is unusually low, otherwise it is high.

    `before` is the value of the set before, None where there is none.
    """

    field: str
    value: float
    low: bool
    before: float | None


def doubts(
    observed: Observed, patient: Patient, on: date, before: Iterable[Observed] = ()
) -> tuple[Doubt, ...]:
    """Answer the signs of a set to ask about; `before` are the sets before it, in order.

    A sign that was already as unusual in the last set that has it is not asked about again.
    """
    earlier = list(before)
    return tuple(_doubts(observed, ranges_for(patient, on), earlier))


def _doubts(
    observed: Observed, ranges: Mapping[str, Range], earlier: list[Observed]
) -> Iterator[Doubt]:
    for field, range_ in ranges.items():
        value, last = getattr(observed, field), _last(earlier, field)
        side = _side(value, range_)
        if side and side != _side(last, range_):
            yield Doubt(field, value, side < 0, last)


def ranges_for(patient: Patient, on: date) -> Mapping[str, Range]:
    """Answer the values that are not asked about, by field; the adult's where no age is known."""
    born = patient.birth_date
    if born is None or not is_child(patient, on):
        spo2 = (
            HYPERCAPNIC_SPO2 if patient.spo2_scale == HYPERCAPNIC_SCALE else ADULT["spo2_percent"]
        )
        return {**ADULT, "spo2_percent": spo2}
    months = months_old(born, on)
    pulse, respirations = pulse_centiles(months), respiration_centiles(months)
    return {
        **CHILD,
        "pulse_per_min": (pulse[0], pulse[-1]),
        "respirations_per_min": (respirations[0], respirations[-1]),
        "systolic_mmhg": (systolic_floor_mmhg(born, on), _OPEN),
    }


def _last(earlier: list[Observed], field: str) -> Any:
    taken = (getattr(one, field) for one in reversed(earlier))
    return next((value for value in taken if value is not None), None)


def _side(value: float | None, range_: Range) -> int:
    """Below the range -1, above it 1, inside or not taken 0."""
    low, high = range_
    if value is None or low <= value <= high:
        return 0
    return -1 if value < low else 1
