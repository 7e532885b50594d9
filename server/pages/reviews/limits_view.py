"""What was kept: a sentence on one limit, and a row for each with the days before beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.audits import Audit, Measure
from server.domain.review.counted import RATED
from server.domain.review.rates import Tally
from server.domain.review.times import Lateness
from server.domain.wording import CLOCK
from server.domain.words import ClockName
from server.pages.charts.rates import Published, Rate, RatesView, rates_view
from server.pages.charts.units import minutes, percent, percents
from server.pages.reviews.filters import Wanted, address_of
from server.pages.reviews.words import NONE, days_words, interval_words, rate_words, short_rate
from server.services.review_period import Review

BESIDE: Final = {
    ClockName.BASELINE_CHECK: Measure.BASELINE_KEPT,
    ClockName.FIRST_CHECK: Measure.FIRST_CHECK_KEPT,
    ClockName.END_CHECK: Measure.END_CHECK_KEPT,
    ClockName.START: Measure.START_LATE,
}
"""The published figures that stand beside a limit; late starts are turned into kept ones."""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit. `href` charts it, `breaches` lists what was not kept, empty where all was.

    `before` is its rate in the days before; `late` says by how much those met late were.
    """

    name: str
    href: str
    charted: bool
    tally: Tally
    rate: str
    interval: str
    before: str
    late: str
    breaches: str


@dataclass(frozen=True, slots=True)
class LimitsView:
    """The limits of a review. `headline` is of the charted one, `change` what it was before."""

    headline: str
    change: str
    rows: tuple[LimitRow, ...]
    nothing: str
    chart: RatesView
    before: str


def limits_view(
    review: Review, wanted: Wanted, href: str, breaches: str, audits: Sequence[Audit]
) -> LimitsView:
    """Make ready the limits; `href` is the address of the review, `breaches` that of the list."""
    owed = [one for one in RATED if review.tallies[one].owed or review.before[one].owed]
    rates = [Rate(CLOCK[one], review.tallies[one], _published(one, audits)) for one in owed]
    return LimitsView(
        headline=headline(wanted.clock, review.tallies[wanted.clock]),
        change=_change(review, wanted.clock),
        rows=tuple(_row(review, wanted, one, href, breaches) for one in owed),
        nothing=", ".join(CLOCK[one] for one in RATED if one not in owed),
        chart=rates_view(
            "rates",
            "Kept in time, beside published figures",
            [rate for rate in rates if rate.published],
        ),
        before=days_words(review.asked.days.before),
    )


def headline(clock: ClockName, tally: Tally) -> str:
    """Answer a rate in one sentence."""
    name = CLOCK[clock]
    if tally.rate is None:
        return f"{name}: none was owed."
    said = f"{name}: {tally.met} of {tally.owed} in time"
    if tally.is_small:
        return f"{said}. That is too few to judge by."
    return f"{said}, {percent(tally.rate)} (95 % interval {interval_words(tally.interval)})."


def _change(review: Review, clock: ClockName) -> str:
    before = review.before[clock]
    when = f"In the days before, {days_words(review.asked.days.before)}"
    if not before.owed:
        return f"{when}, none was owed."
    return f"{when}: {before.met} of {before.owed}, {rate_words(before)}."


def _row(review: Review, wanted: Wanted, clock: ClockName, href: str, breaches: str) -> LimitRow:
    tally = review.tallies[clock]
    broken = tally.owed - tally.met
    asked = address_of(breaches, wanted, clock=clock.value, by="", anew="") if broken else ""
    return LimitRow(
        name=CLOCK[clock],
        href=address_of(href, wanted, clock=clock.value),
        charted=clock is wanted.clock,
        tally=tally,
        rate=short_rate(tally),
        interval=interval_words(tally.interval),
        before=_before(review.before[clock]),
        late=_late(review.lateness, clock),
        breaches=asked,
    )


def _before(tally: Tally) -> str:
    if not tally.owed:
        return NONE
    return f"{tally.met if tally.is_small else rate_words(tally)} of {tally.owed}"


def _late(lateness: Mapping[ClockName, Lateness], clock: ClockName) -> str:
    late = lateness.get(clock)
    if late is None:
        return NONE
    if late.limits == 1:
        return minutes(late.most)
    return f"{minutes(late.median)}, at most {minutes(late.most)}"


def _published(clock: ClockName, audits: Sequence[Audit]) -> tuple[Published, ...]:
    measure = BESIDE.get(clock)
    return tuple(_mark(one) for one in audits if one.measure is measure)


def _mark(audit: Audit) -> Published:
    low, high = audit.low, audit.high
    if audit.measure is Measure.START_LATE:
        low, high = 1 - high, 1 - low
    return Published(low, high, f"{percents(low, high)}, {audit.place}, {audit.year}")
