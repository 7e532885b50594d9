"""Rates with their intervals, one under the other, and published figures as marks beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import Final

from server.domain.review.rates import Tally, caution
from server.pages.charts.frame import WIDTH, FigureTable, Frame, Size
from server.pages.charts.scale import Scale, Tick, round_values
from server.pages.charts.units import percent, percents

LEFT: Final = 20.0
RIGHT: Final = 20.0
TOP: Final = 8.0
ROW: Final = 40.0
FOOT: Final = 22.0
WHISKER: Final = 26.0
"""How far under the top of a row its interval is drawn."""
LEAST: Final = 0.2
NONE: Final = "–"


@dataclass(frozen=True, slots=True)
class Published:
    """A published figure, or the lowest and the highest of a range; fractions of 0 to 1."""

    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate and what stands beside it."""

    name: str
    tally: Tally
    published: tuple[Published, ...] = ()


@dataclass(frozen=True, slots=True)
class PublishedMark:
    """A published figure as it is drawn, from x to x + width."""

    x: float
    width: float
    told: str


@dataclass(frozen=True, slots=True)
class RateRow:
    """One rate: `low` and `high` are the ends of its interval, None where none was owed.

    `y` is where its interval lies, `name_y` where its words stand. shape: dot or ring (too few).
    """

    name: str
    words: str
    name_y: float
    y: float
    x: float | None
    low: float
    high: float
    shape: str
    told: str
    published: tuple[PublishedMark, ...]


@dataclass(frozen=True, slots=True)
class RatesView:
    """Everything about a chart of rates."""

    key: str
    title: str
    description: str
    frame: Frame
    rows: tuple[RateRow, ...]
    has_published: bool
    table: FigureTable


def rates_view(key: str, title: str, rates: Sequence[Rate]) -> RatesView:
    """Draw rates in their order. `key` is an id that the page has once."""
    values = _values(rates)
    across = Scale(values[0], values[-1], LEFT, WIDTH[Size.NARROW] - RIGHT)
    bottom = TOP + ROW * len(rates)
    return RatesView(
        key=key,
        title=title,
        description=" ".join(f"{_told(rate)}." for rate in rates) or "There is no rate to draw.",
        frame=Frame(
            size=Size.NARROW,
            height=bottom + FOOT,
            left=LEFT,
            right=WIDTH[Size.NARROW] - RIGHT,
            top=TOP,
            bottom=bottom,
            x_ticks=tuple(Tick(across.at(value), percent(value)) for value in values),
            y_ticks=(),
        ),
        rows=tuple(_row(rate, TOP + ROW * at, across) for at, rate in enumerate(rates)),
        has_published=any(rate.published for rate in rates),
        table=_table(title, rates),
    )


def _values(rates: Sequence[Rate]) -> tuple[float, ...]:
    """The axis ends at 100 % and begins where the lowest figure needs it to."""
    lows = [one.low for rate in rates for one in rate.published]
    lows += [rate.tally.interval.low for rate in rates if rate.tally.interval is not None]
    lowest = min([1 - LEAST, *lows])
    return tuple(one for one in round_values(floor(lowest * 10) / 10, 1.0) if 0 <= one <= 1)


def _row(rate: Rate, top: float, across: Scale) -> RateRow:
    tally, interval = rate.tally, rate.tally.interval
    return RateRow(
        name=rate.name,
        words=_words(tally),
        name_y=top + 14,
        y=top + WHISKER,
        x=None if tally.rate is None else across.at(tally.rate),
        low=across.end if interval is None else across.at(interval.low),
        high=across.end if interval is None else across.at(interval.high),
        shape="ring" if tally.is_small else "dot",
        told=_told(rate),
        published=tuple(_published(one, across) for one in rate.published),
    )


def _published(one: Published, across: Scale) -> PublishedMark:
    low, high = across.at(one.low), across.at(one.high)
    return PublishedMark(low, round(high - low, 1), one.words)


def _words(tally: Tally) -> str:
    if tally.rate is None or tally.is_small:
        return caution(tally)
    return f"{percent(tally.rate)}, {tally.met} of {tally.owed}"


def _told(rate: Rate) -> str:
    tally, interval = rate.tally, rate.tally.interval
    if tally.rate is None or interval is None:
        return f"{rate.name}: {caution(tally)}"
    said = f"{rate.name}: {percent(tally.rate)} in time, {tally.met} of {tally.owed}"
    reach = f"95 % interval {percents(interval.low, interval.high)}"
    return ", ".join(one for one in (said, reach, caution(tally) if tally.is_small else "") if one)


def _table(title: str, rates: Sequence[Rate]) -> FigureTable:
    return FigureTable(
        caption=title,
        heads=("Limit", "Owed", "In time", "Late", "Missed", "Rate", "95 % interval", "Published"),
        rows=tuple(_cells(rate) for rate in rates),
    )


def _cells(rate: Rate) -> tuple[str, ...]:
    tally, interval = rate.tally, rate.tally.interval
    counts = (tally.owed, tally.met, tally.late, tally.missed)
    reach = NONE if interval is None else percents(interval.low, interval.high)
    return (
        rate.name,
        *map(str, counts),
        NONE if tally.rate is None else percent(tally.rate),
        f"{reach}; too few to judge" if tally.owed and tally.is_small else reach,
        "; ".join(one.words for one in rate.published) or NONE,
    )
