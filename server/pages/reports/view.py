"""The report of a period, ready to be shown and printed: sentences, tables and drawings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.breach_list import Passed
from server.domain.review.rates import Tally
from server.domain.review.share import Share
from server.domain.review.survival import Curve
from server.domain.wording import CLOCK, day_text
from server.pages.accounts.view import account_words, kept_words
from server.pages.breach_pages.list_view import breaches_words
from server.pages.charts.curves import CurvesView
from server.pages.charts.rates import Rate, RatesView, rates_view
from server.pages.charts.units import minutes, percent
from server.pages.reports.lines import (
    BreachLine,
    RateLine,
    TimeLine,
    UnitLine,
    breach_lines,
    missing_line,
    open_line,
    rate_line,
    time_lines,
)
from server.pages.reports.read_report import Report
from server.pages.reviews.beside_view import BesideRow, beside_view
from server.pages.reviews.course_view import CourseView, course_view
from server.pages.reviews.filters import FIRST_SHOWN, Wanted
from server.pages.reviews.times_view import times_view


@dataclass(frozen=True, slots=True)
class Made:
    """Who made a report and when, and whether it names patients."""

    by: str
    at: datetime
    version: str
    with_identity: bool


@dataclass(frozen=True, slots=True)
class ReportView:
    """The report."""

    ward: str
    days: str
    made: str
    policy: str
    with_identity: bool
    short: tuple[str, ...]
    chart: RatesView
    rates: tuple[RateLine, ...]
    before: str
    course: CourseView
    breaches: tuple[BreachLine, ...]
    breach_words: str
    still_open: tuple[UnitLine, ...]
    to_start: tuple[TimeLine, ...]
    to_end: tuple[TimeLine, ...]
    curves: tuple[CurvesView, ...]
    beside: tuple[BesideRow, ...]
    account_words: str
    missing: tuple[UnitLine, ...]
    changes: tuple[tuple[str, str], ...]
    kept: str


def report_view(found: Report, made: Made) -> ReportView:
    """Answer the report as it is printed."""
    zone = ZoneInfo(found.ward.timezone)
    review, named = found.review, made.with_identity
    owed = {clock: tally for clock, tally in review.tallies.items() if tally.owed}
    return ReportView(
        ward=found.ward.name,
        days=f"{day_text(found.days.first)} to {day_text(found.days.last)}",
        made=_made(made, zone),
        policy=f"{found.policy.title}, version {found.policy.version}",
        with_identity=named,
        short=_short(found),
        chart=rates_view(
            "report-rates",
            "Limits kept in time",
            [Rate(CLOCK[clock], tally) for clock, tally in owed.items()],
        ),
        rates=tuple(
            rate_line(clock, tally, review.before.get(clock, Tally()), review.lateness.get(clock))
            for clock, tally in owed.items()
        ),
        before=f"{day_text(found.days.before.first)} to {day_text(found.days.before.last)}",
        course=course_view(review, Wanted(review.asked, FIRST_SHOWN, anew=False)),
        breaches=breach_lines(found.breaches),
        breach_words=_breach_words(found.breaches),
        still_open=tuple(open_line(one, zone, named=named) for one in found.still_open),
        to_start=time_lines(review.to_start),
        to_end=time_lines(review.to_end),
        curves=times_view(review, found.policy.start_target).charts,
        beside=beside_view(review, found.audits),
        account_words=account_words(found.accounts),
        missing=tuple(missing_line(one, zone, named=named) for one in found.missing),
        changes=tuple((day_text(one.day), one.text) for one in review.changes if one.stands),
        kept=kept_words(found.accounts, zone, made.at.astimezone(zone).date()),
    )


def _made(made: Made, zone: ZoneInfo) -> str:
    local = made.at.astimezone(zone)
    return f"{day_text(local)}, {local:%H:%M %Z}, by {made.by}, with Fourth Hour {made.version}"


def _breach_words(passed: Iterable[Passed]) -> str:
    listed = list(passed)
    if not listed:
        return "No limit was passed in this period."
    units = len({one.episode_id for one in listed})
    return breaches_words(len(listed), units, sum(one.cause is None for one in listed))


def _short(found: Report) -> tuple[str, ...]:
    """The period in a few sentences."""
    accounts = found.accounts
    said = (
        _breach_words(found.breaches),
        account_words(accounts),
        _half("been started", found.review.to_start.whole),
        _half("ended", found.review.to_end.whole),
        *_shares(found),
    )
    return tuple(words for words in said if words)


def _half(what: str, curve: Curve) -> str:
    if curve.median is None:
        return ""
    nine = "" if curve.p90 is None else f", nine in ten by {minutes(curve.p90)}"
    return f"Half of {curve.total} units had {what} by {minutes(curve.median)} after issue{nine}."


def _shares(found: Report) -> tuple[str, ...]:
    routine, again = found.review.routine, found.review.figures.reassessed
    said = (
        _share(routine, "routine units were started at night"),
        _share(
            Share(again.met, again.owed),
            "single red cell units were followed by a new look at the patient before the next",
        ),
    )
    return tuple(words for words in said if words)


def _share(share: Share, what: str) -> str:
    if share.part is None or share.interval is None:
        return ""
    low, high = percent(share.interval.low), percent(share.interval.high)
    doubt = "; too few to judge" if share.is_small else ""
    return (
        f"{share.count} of {share.of} {what}: {percent(share.part)} "
        f"(95 % interval {low} to {high}{doubt})."
    )
