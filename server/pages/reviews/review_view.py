"""The review, ready to be shown: what was kept, its course, times, and what stands beside it."""

from dataclasses import dataclass
from datetime import timedelta

from server.domain.review.audits import Audit
from server.domain.wording import CLOCK, COMPONENT
from server.pages.charts.funnel import FunnelView, Ward, funnel_view
from server.pages.links import ward_href
from server.pages.reviews.beside_view import BesideRow, beside_view
from server.pages.reviews.changes_view import ChangeRow, change_rows
from server.pages.reviews.course_view import CourseView, course_view
from server.pages.reviews.filters import Wanted, address_of
from server.pages.reviews.limits_view import LimitsView, limits_view
from server.pages.reviews.times_view import TimesView, times_view
from server.pages.reviews.words import days_words, rate_words, share_words
from server.services.actor import Actor
from server.services.review_period import Review


@dataclass(frozen=True, slots=True)
class WardLink:
    """One ward of several: the charted limit there, and the address of its review."""

    name: str
    href: str
    said: str


@dataclass(frozen=True, slots=True)
class ReviewView:
    """The page. `about` says what is shown; `funnel` and `wards` are there for several wards.

    `is_empty`: no limit lay in the days, and no unit was issued in them.
    """

    about: str
    is_empty: bool
    limits: LimitsView
    course: CourseView
    times: TimesView
    nights: str
    nights_all: str
    beside: tuple[BesideRow, ...]
    funnel: FunnelView | None
    wards: tuple[WardLink, ...]
    changes: tuple[ChangeRow, ...]


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the page needs besides the review.

    `href` is its address and `breaches` that of the list, `start_target` the limit of the start
    where one ward is shown, `audits` the published figures, `actor` who looks.
    """

    href: str
    breaches: str
    start_target: timedelta | None
    audits: tuple[Audit, ...]
    actor: Actor


def review_view(review: Review, wanted: Wanted, around: Surroundings) -> ReviewView:
    """Make ready the page."""
    several = len(review.wards) > 1
    return ReviewView(
        about=_about(review),
        is_empty=not review.fated and not any(one.owed for one in review.tallies.values()),
        limits=limits_view(review, wanted, around.href, around.breaches, around.audits),
        course=course_view(review, wanted),
        times=times_view(review, around.start_target),
        nights=share_words(review.routine),
        nights_all=share_words(review.started),
        beside=beside_view(review, around.audits),
        funnel=_funnel(review, wanted) if several else None,
        wards=_wards(review, wanted) if several else (),
        changes=change_rows(review, around.actor),
    )


def _about(review: Review) -> str:
    component = review.asked.component
    what = "All components" if component is None else COMPONENT[component]
    many = len(review.wards)
    where = f", {many} wards together" if many > 1 else ""
    return f"{what}, {days_words(review.asked.days)}{where}."


def _funnel(review: Review, wanted: Wanted) -> FunnelView | None:
    rate = review.tallies[wanted.clock].rate
    if rate is None:
        return None
    wards = [Ward(one.ward.name, one.tallies[wanted.clock]) for one in review.wards]
    return funnel_view("funnel", f"{CLOCK[wanted.clock]}: wards beside each other", wards, rate)


def _wards(review: Review, wanted: Wanted) -> tuple[WardLink, ...]:
    return tuple(
        WardLink(
            one.ward.name,
            address_of(ward_href(one.ward.id, "review"), wanted),
            _said(one.tallies[wanted.clock].met, one.tallies[wanted.clock].owed)
            + rate_words(one.tallies[wanted.clock]),
        )
        for one in review.wards
    )


def _said(met: int, owed: int) -> str:
    return f"{met} of {owed}, " if owed else ""


def exports_href(ward_id: str, wanted: Wanted, *, everywhere: bool = False) -> str:
    """Answer the address where the tables of the same days are taken away, narrowed alike."""
    days, component = wanted.asked.days, wanted.asked.component
    return ward_href(
        ward_id,
        "exports",
        **{"from": f"{days.first}", "to": f"{days.last}"},
        what="rates",
        wards="all" if everywhere else "",
        by=wanted.asked.by.value,
        component="" if component is None else component.value,
    )
