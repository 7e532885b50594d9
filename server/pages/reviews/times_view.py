"""How long units take from their issue: to the start, to the end, by component and by hour."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.review.counted import Fated
from server.domain.review.rates import ENOUGH
from server.domain.review.survival import Curve
from server.domain.review.times import Times, together
from server.domain.wording import COMPONENT
from server.domain.words import Fate
from server.pages.charts.curve_words import NEVER, Group
from server.pages.charts.curves import CurvesView, curves_view
from server.pages.charts.units import minutes
from server.pages.reviews.words import NONE
from server.services.review_period import Review

QUARTERS: Final = (
    ("00:00 to 05:59", range(6)),
    ("06:00 to 11:59", range(6, 12)),
    ("12:00 to 17:59", range(12, 18)),
    ("18:00 to 23:59", range(18, 24)),
)


@dataclass(frozen=True, slots=True)
class HourRow:
    """Units that were issued in one hour of the ward's day, with the times of each half."""

    hour: str
    units: int
    to_start: str
    to_start_p90: str
    to_end: str
    to_end_p90: str


@dataclass(frozen=True, slots=True)
class TimesView:
    """The times of a review. `units` says what became of those that were issued."""

    units: str
    charts: tuple[CurvesView, ...]
    hours: tuple[HourRow, ...]


def times_view(review: Review, start_target: timedelta | None) -> TimesView:
    """Make ready the times; `start_target` is the limit of the start, where the wards have one."""
    limit = None if start_target is None else start_target / timedelta(minutes=1)
    start, end = review.to_start, review.to_end
    to_start, to_end = "From issue to start", "From issue to end"
    by_hour = "by hour of issue"
    return TimesView(
        units=_units(review.fated),
        charts=(
            curves_view("start-component", to_start, _by_component(start), limit),
            curves_view("start-hour", f"{to_start}, {by_hour}", _by_hour(start), limit),
            curves_view("end-component", to_end, _by_component(end)),
            curves_view("end-hour", f"{to_end}, {by_hour}", _by_hour(end)),
        ),
        hours=tuple(
            _hour(hour, *both)
            for hour, both in enumerate(zip(start.by_hour, end.by_hour, strict=True))
            if both[0].total
        ),
    )


def _by_component(times: Times) -> list[Group]:
    """Each component, and all together where there are several."""
    groups = [Group(COMPONENT[one], curve) for one, curve in times.by_component.items()]
    return [Group("All units", times.whole), *groups] if len(groups) > 1 else groups


def _by_hour(times: Times) -> list[Group]:
    return [
        Group(name, together(times.by_hour[hour] for hour in hours)) for name, hours in QUARTERS
    ]


def _hour(hour: int, to_start: Curve, to_end: Curve) -> HourRow:
    return HourRow(f"{hour:02d}:00", to_start.total, *_two(to_start), *_two(to_end))


def _two(curve: Curve) -> tuple[str, str]:
    if curve.total < ENOUGH:
        return "too few", NONE
    median, p90 = (NEVER if at is None else minutes(at) for at in (curve.median, curve.p90))
    return median, p90


def _units(fated: tuple[Fated, ...]) -> str:
    issued = sum(one.units for one in fated)
    if not issued:
        return "No unit was issued."
    started = sum(one.units for one in fated if one.started)
    left = {
        "sent back unused": _unused(fated, Fate.RETURNED),
        "discarded unused": _unused(fated, Fate.DISCARDED),
    }
    waiting = issued - started - sum(left.values())
    said = [f"{count} {words}" for words, count in left.items() if count]
    if waiting:
        said.append(f"{waiting} not started yet")
    many = "1 unit was issued" if issued == 1 else f"{issued} units were issued"
    return f"{many}: {', '.join([f'{started} started', *said])}."


def _unused(fated: tuple[Fated, ...], fate: Fate) -> int:
    return sum(one.units for one in fated if one.fate is fate and not one.started)
