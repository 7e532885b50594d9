"""How long something takes by the hour of the day: median and nine in ten, hour by hour."""

from collections.abc import Container, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.rates import ENOUGH
from server.domain.review.survival import Curve
from server.pages.charts.curve_words import NONE, time_words
from server.pages.charts.frame import WIDTH, FigureTable, Frame, Size
from server.pages.charts.scale import Scale, Tick, around
from server.pages.charts.units import MINUTES, minutes

LEFT: Final = 50.0
RIGHT: Final = 14.0
TOP: Final = 18.0
PLOT: Final = 160.0
FOOT: Final = 40.0
EVERY: Final = 3
"""So many hours lie between two that are written out."""


@dataclass(frozen=True, slots=True)
class HourColumn:
    """One hour with its median. shape: dot or ring (too few).

    `p90_y` is where nine in ten lie, None where that was not reached: then the line goes on to the
    top of the plot.
    """

    x: float
    y: float
    p90_y: float | None
    shape: str
    told: str


@dataclass(frozen=True, slots=True)
class Night:
    """A stretch of the ward's night, from x to x + width."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class HoursView:
    """Everything about a chart of hours."""

    key: str
    title: str
    description: str
    frame: Frame
    columns: tuple[HourColumn, ...]
    nights: tuple[Night, ...]
    limit: Tick | None
    has_small: bool
    table: FigureTable


@dataclass(frozen=True, slots=True)
class _Axes:
    across: Scale
    up: Scale


def hours_view(
    key: str,
    title: str,
    hours: Sequence[Curve],
    night: Container[int] = (),
    limit_minutes: float | None = None,
) -> HoursView:
    """Draw a curve for each hour of the day, from 0 on; `night` are the hours that are night.

    An hour of which not half is known has no column, and stands in the table. `key` is an id that
    the page has once.
    """
    figures = [at for one in hours for at in (one.median, one.p90) if at is not None]
    limits = [] if limit_minutes is None else [limit_minutes]
    values = around([0.0, *figures, *limits], MINUTES.least, MINUTES.within)
    across = Scale(-0.5, len(hours) - 0.5, LEFT, WIDTH[Size.NARROW] - RIGHT)
    axes = _Axes(across, Scale(values[0], values[-1], TOP + PLOT, TOP))
    return HoursView(
        key=key,
        title=title,
        description=_described(hours),
        frame=Frame(
            size=Size.NARROW,
            height=TOP + PLOT + FOOT,
            left=LEFT,
            right=WIDTH[Size.NARROW] - RIGHT,
            top=TOP,
            bottom=TOP + PLOT,
            x_ticks=tuple(
                Tick(across.at(hour), f"{hour:02d}") for hour in range(0, len(hours), EVERY)
            ),
            y_ticks=tuple(Tick(axes.up.at(value), minutes(value)) for value in values),
        ),
        columns=tuple(
            _column(hour, one, one.median, axes)
            for hour, one in enumerate(hours)
            if one.median is not None
        ),
        nights=_nights(len(hours), night, across),
        limit=None if limit_minutes is None else _limit(limit_minutes, axes),
        has_small=any(one.steps and one.total < ENOUGH for one in hours),
        table=FigureTable(
            caption=title,
            heads=("Hour of the day", "Units", "Median", "Nine in ten within"),
            rows=tuple(_row(hour, one) for hour, one in enumerate(hours)),
        ),
    )


def _column(hour: int, curve: Curve, median: float, axes: _Axes) -> HourColumn:
    return HourColumn(
        x=axes.across.at(hour),
        y=axes.up.at(median),
        p90_y=None if curve.p90 is None else axes.up.at(curve.p90),
        shape="ring" if curve.total < ENOUGH else "dot",
        told=_told(hour, curve),
    )


def _nights(hours: int, night: Container[int], across: Scale) -> tuple[Night, ...]:
    found: list[Night] = []
    for hour in range(hours):
        if hour in night:
            x, end = across.at(hour - 0.5), across.at(hour + 0.5)
            if found and found[-1].x + found[-1].width == x:
                found[-1] = Night(found[-1].x, round(end - found[-1].x, 1))
            else:
                found.append(Night(x, round(end - x, 1)))
    return tuple(found)


def _limit(limit_minutes: float, axes: _Axes) -> Tick:
    return Tick(axes.up.at(limit_minutes), f"limit {minutes(limit_minutes)}")


def _told(hour: int, curve: Curve) -> str:
    units = "1 unit" if curve.total == 1 else f"{curve.total} units"
    median, p90 = time_words(curve.median), time_words(curve.p90)
    return f"{_hour(hour)}, {units}: median {median}, nine in ten within {p90}"


def _hour(hour: int) -> str:
    return f"{hour:02d}:00 to {hour:02d}:59"


def _described(hours: Sequence[Curve]) -> str:
    """The slowest hour that can be judged, and how many cannot."""
    known = [(one.median, hour) for hour, one in enumerate(hours) if one.total >= ENOUGH]
    medians = [(median, hour) for median, hour in known if median is not None]
    if not medians:
        return "No hour has enough units to be judged."
    slowest, quickest = max(medians), min(medians)
    return (
        f"Longest by the median: {_told(slowest[1], hours[slowest[1]])}. "
        f"Shortest: {_told(quickest[1], hours[quickest[1]])}."
    )


def _row(hour: int, curve: Curve) -> tuple[str, ...]:
    if not curve.steps:
        return (_hour(hour), "0", NONE, NONE)
    return (_hour(hour), str(curve.total), time_words(curve.median), time_words(curve.p90))
