"""How long units take from their issue: to the start, to the end, by component and by hour."""

from dataclasses import dataclass
from datetime import timedelta

from server.domain.review.counted import Fated
from server.domain.review.times import Times
from server.domain.wording import COMPONENT
from server.domain.words import Fate
from server.pages.charts.curve_words import Group
from server.pages.charts.curves import CurvesView, curves_view
from server.pages.charts.hours import HoursView, hours_view
from server.services.review_period import Review


@dataclass(frozen=True, slots=True)
class TimesView:
    """The times of a review. `units` says what became of those that were issued."""

    units: str
    charts: tuple[CurvesView, ...]
    hours: tuple[HoursView, ...]


def times_view(review: Review, start_target: timedelta | None) -> TimesView:
    """Make ready the times; `start_target` is the limit of the start, where the wards have one."""
    limit = None if start_target is None else start_target / timedelta(minutes=1)
    start, end = review.to_start, review.to_end
    to_start, to_end = "From issue to start", "From issue to end"
    by_hour, night = "by hour of issue", review.night_hours
    return TimesView(
        units=_units(review.fated),
        charts=(
            curves_view("start-component", to_start, _by_component(start), limit),
            curves_view("end-component", to_end, _by_component(end)),
        ),
        hours=(
            hours_view("start-hour", f"{to_start}, {by_hour}", start.by_hour, night, limit),
            hours_view("end-hour", f"{to_end}, {by_hour}", end.by_hour, night),
        ),
    )


def _by_component(times: Times) -> list[Group]:
    """Each component, and all together where there are several."""
    groups = [Group(COMPONENT[one], curve) for one, curve in times.by_component.items()]
    return [Group("All units", times.whole), *groups] if len(groups) > 1 else groups


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
