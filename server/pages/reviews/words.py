"""How a review speaks of its days, its parts and its figures."""

from datetime import timedelta
from typing import Final

from server.domain.review.days import Days
from server.domain.review.periods import By
from server.domain.review.proportion import Interval
from server.domain.review.rates import ENOUGH, Tally, caution
from server.domain.review.share import Share
from server.pages.charts.units import percent, percents

NONE: Final = "–"
_WEEK: Final = 7
_DAY: Final = timedelta(days=1)


def days_words(days: Days) -> str:
    """Answer days as they are spoken of, `2 to 8 March 2026`."""
    first, last = days.first, days.last
    if first == last:
        return f"{first:%a} {first.day} {first:%B %Y}"
    end = f"{last.day} {last:%B %Y}"
    if (first.year, first.month) == (last.year, last.month):
        is_whole = first.day == 1 and (last + _DAY).day == 1
        return f"{first:%B %Y}" if is_whole else f"{first.day} to {end}"
    return f"{first.day} {first:%B}{'' if first.year == last.year else f' {first:%Y}'} to {end}"


def part_label(days: Days, by: By) -> str:
    """Answer what stands under a place of a chart: a day, the first of a week, or a month."""
    if by is By.MONTH:
        return f"{days.first:%b} {days.first:%y}"
    return f"{days.first.day} {days.first:%b}"


def part_name(days: Days, by: By) -> str:
    """Answer what a place is called in sentences; one that was cut is named by its days."""
    if by is By.WEEK and days.count == _WEEK:
        return f"week of {days.first.day} {days.first:%b %Y}"
    return days_words(days)


def interval_words(interval: Interval | None) -> str:
    """Answer an interval, `91 % to 96 %`."""
    return NONE if interval is None else percents(interval.low, interval.high)


def short_rate(tally: Tally) -> str:
    """Answer a rate as a cell of a table has room for it."""
    if tally.rate is None:
        return NONE
    return "too few" if tally.is_small else percent(tally.rate)


def rate_words(tally: Tally) -> str:
    """Answer a rate, or why there is none to tell."""
    return percent(tally.rate) if tally.rate is not None and not tally.is_small else caution(tally)


def share_words(share: Share) -> str:
    """Answer a part with what it is counted from, `12 %, 31 of 259`, and its interval."""
    if share.part is None:
        return "nothing to count"
    counted = f"{share.count} of {share.of}"
    if share.is_small:
        return f"{counted}: too few to judge, fewer than {ENOUGH}"
    return f"{percent(share.part)}, {counted} (95 % interval {interval_words(share.interval)})"
