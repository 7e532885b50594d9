"""The rates of a period as a sheet: by clock, whole and part by part, with their intervals."""

from collections.abc import Iterator
from typing import Final

from server.domain.review.proportion import Interval
from server.domain.review.rates import Tally, caution
from server.domain.wording import CLOCK
from server.domain.words import ClockName
from server.exchange.sheets.common import Maker
from server.exchange.sheets.sheet import Cells, Column, Shape, Sheet
from server.services.review_rates import Rates, WardRates

WILSON: Final = "Wilson’s interval, 95 %: Newcombe, Stat Med 1998;17:857, method 3"
COLUMNS: Final = (
    Column("part", "Part", note="The whole period, or its parts by the calendar of the ward"),
    Column("from_at", "From", Shape.INSTANT),
    Column("until", "Until", Shape.INSTANT, note="Just before"),
    Column("clock", "Which limit", words={one.value: words for one, words in CLOCK.items()}),
    Column(
        "owed",
        "Owed",
        Shape.NUMBER,
        "limits",
        note="Limits that lie in the part and were met, met late or missed; what nobody owed any "
        "more is left out",
    ),
    Column("met", "Met", Shape.NUMBER, "limits", note="In time"),
    Column("late", "Met late", Shape.NUMBER, "limits"),
    Column("missed", "Missed", Shape.NUMBER, "limits", note="Or passed and not met yet"),
    Column("rate_percent", "Rate", Shape.NUMBER, "%", note="Met of owed"),
    Column("low_percent", "From", Shape.NUMBER, "%", source=WILSON),
    Column("high_percent", "To", Shape.NUMBER, "%", source=WILSON),
    Column("caution", "Caution"),
)


def rate_sheet(maker: Maker, found: WardRates, only: tuple[str, ...]) -> Sheet:
    """The sheet of these rates."""
    about = maker.about("Rates: how often each limit was kept", only)
    return Sheet("rates", about, COLUMNS, _rows(found))


def _rows(found: WardRates) -> Iterator[Cells]:
    yield from _part("whole period", found.whole)
    for rates in found.parts:
        yield from _part(f"{found.by}", rates)


def _part(part: str, rates: Rates) -> Iterator[Cells]:
    for clock, tally in rates.tallies.items():
        yield (part, rates.period.from_at, rates.period.until_at, *_counted(clock, tally))


def _counted(clock: ClockName, tally: Tally) -> Cells:
    return (
        clock.value,
        tally.owed,
        tally.met,
        tally.late,
        tally.missed,
        percent(tally.rate),
        *ends(tally.interval),
        caution(tally) or None,
    )


def ends(interval: Interval | None) -> tuple[float | None, float | None]:
    """Both ends of an interval in per cent."""
    return (None, None) if interval is None else (percent(interval.low), percent(interval.high))


def percent(share: float | None) -> float | None:
    """A fraction in per cent, to the hundredth."""
    return None if share is None else round(100 * share, 2)
