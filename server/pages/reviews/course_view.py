"""Whether something changes: the charted limit and the time to start, part by part."""

from dataclasses import dataclass

from server.domain.review.days import begins_with
from server.domain.review.p_chart import p_chart
from server.domain.review.rates import ENOUGH
from server.domain.review.signals import ORDER, Rule
from server.domain.review.times import median_within
from server.domain.review.xmr import xmr
from server.domain.ward_change import WardChange
from server.domain.wording import CLOCK
from server.pages.charts.control import ControlView, control_view
from server.pages.charts.control_marks import Change, Place
from server.pages.charts.units import MINUTES, PERCENT
from server.pages.reviews.filters import Wanted
from server.pages.reviews.words import part_label, part_name
from server.services.review_period import Part, Review


@dataclass(frozen=True, slots=True)
class CourseView:
    """The course of a review. `ranges` is the second half of the chart of `starts`.

    `verdict` says of the charted limit whether the chart shows more than chance.
    """

    kept: ControlView
    starts: ControlView
    ranges: ControlView
    changes: tuple[Change, ...]
    verdict: str


def course_view(review: Review, wanted: Wanted) -> CourseView:
    """Make ready the control charts; the changes of the wards are flagged on them."""
    changes = _changes(review)
    places = range(1, len(review.parts))  # with the first one everything begins
    phases = sorted({one.place for one in changes if one.place in places}) if wanted.anew else []
    kept = control_view(
        "kept",
        f"{CLOCK[wanted.clock]}: kept in time",
        p_chart([_met_of_owed(part, wanted) for part in review.parts], phases),
        [_counted(review, part, wanted) for part in review.parts],
        changes,
        unit=PERCENT,
    )
    medians = xmr([median_within(part.to_start) for part in review.parts], phases, floor=0)
    waited = [_waited(review, part) for part in review.parts]
    starts, ranges = (
        control_view(key, title, chart, waited, changes, unit=MINUTES, rules=rules)
        for key, title, chart, rules in (
            ("starts", "Median minutes from issue to start", medians.values, ORDER),
            ("ranges", "From one median to the next", medians.ranges, (Rule.BEYOND_LIMITS,)),
        )
    )
    return CourseView(kept, starts, ranges, changes, _verdict(kept))


def _met_of_owed(part: Part, wanted: Wanted) -> tuple[int, int]:
    tally = part.tallies[wanted.clock]
    return tally.met, tally.owed


def _counted(review: Review, part: Part, wanted: Wanted) -> Place:
    tally = part.tallies[wanted.clock]
    return _place(review, part, f"{tally.met} of {tally.owed}", is_small=tally.is_small)


def _waited(review: Review, part: Part) -> Place:
    curve = part.to_start
    units = "1 unit" if curve.total == 1 else f"{curve.total} units"
    return _place(review, part, units, is_small=curve.total < ENOUGH)


def _place(review: Review, part: Part, figures: str, *, is_small: bool) -> Place:
    by = review.asked.by
    return Place(part_label(part.days, by), part_name(part.days, by), figures, is_small)


def _changes(review: Review) -> tuple[Change, ...]:
    several = len(review.wards) > 1
    names = {one.ward.id: one.ward.name for one in review.wards}
    return tuple(
        Change(
            place=_place_of(review, one),
            name=f"{one.day.day} {one.day:%b %Y}",
            text=f"{names[one.ward_id]}: {one.text}" if several else one.text,
        )
        for one in review.changes
        if one.stands
    )


def _place_of(review: Review, change: WardChange) -> int:
    """A change on a Sunday tells nothing of the week that it ends: that is the one before it."""
    return begins_with([part.days for part in review.parts], change.day)


def _verdict(kept: ControlView) -> str:
    if not kept.dots:
        return ""
    if len(kept.dots) == 1:
        return "One value shows no course: ask for more days, or cut them into smaller parts."
    if kept.signals:
        many = "1 signal" if len(kept.signals) == 1 else f"{len(kept.signals)} signals"
        return f"The chart below shows {many}: look for what was different then."
    return "The chart below shows nothing beyond chance: a difference may be noise."
