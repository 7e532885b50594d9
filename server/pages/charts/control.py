"""A control chart as a drawing: values, centre, limits as steps, signals, changes of the ward."""

from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.control_chart import ControlChart, Point
from server.domain.review.signals import ORDER, Rule, find_signals
from server.pages.charts.control_marks import (
    Change,
    Flag,
    Marked,
    Place,
    flags,
    letters_at,
    mark,
    shapes,
)
from server.pages.charts.control_words import described, note, table, with_figures
from server.pages.charts.frame import LINE, WIDTH, FigureTable, Frame, Size, thinned
from server.pages.charts.scale import Scale, Tick, around
from server.pages.charts.units import Unit

LEFT: Final = 44.0
RIGHT: Final = 52.0
HEAD: Final = 18.0
FOOT: Final = 24.0
PLOT: Final = 160.0
UP_TO: Final = ((13, Size.NARROW), (26, Size.MEDIUM), (53, Size.WIDE))
"""So many places fit each size."""
LETTER_ABOVE: Final = 8.0
LETTER_BELOW: Final = 17.0


@dataclass(frozen=True, slots=True)
class Dot:
    """One value: its place, its shape, and what is told of it.

    shape: dot, ring (too few to judge), square (part of a run), diamond (beyond a limit). `letters`
    name its signals and stand at `letters_y`.
    """

    x: float
    y: float
    shape: str
    letters: str
    letters_y: float
    told: str


@dataclass(frozen=True, slots=True)
class ControlView:
    """Everything about one chart. `centre`, `limits` and `line` are paths.

    `ends` are the centre and the limits as they are at last, written at the right. `signals` tells
    of each letter, `note` what to mind, `description` what the drawing shows.
    """

    key: str
    title: str
    description: str
    frame: Frame
    centre: str
    limits: str
    line: str
    dots: tuple[Dot, ...]
    ends: tuple[Tick, ...]
    flags: tuple[Flag, ...]
    signals: tuple[Marked, ...]
    note: str
    table: FigureTable


@dataclass(frozen=True, slots=True)
class _Axes:
    """Where places and values lie, and how values are written."""

    across: Scale
    up: Scale
    unit: Unit


def control_view(
    key: str,
    title: str,
    chart: ControlChart,
    places: Sequence[Place],
    changes: Sequence[Change] = (),
    *,
    unit: Unit,
    rules: Container[Rule] = ORDER,
) -> ControlView:
    """Draw a chart. `places` are as many as its points, `key` is an id that the page has once.

    Of a chart of moving ranges only `Rule.BEYOND_LIMITS` means something.
    """
    signals = find_signals(chart, rules)
    marked = mark(signals, places)
    size = next((size for most, size in UP_TO if len(places) <= most), Size.WIDEST)
    across = Scale(-0.5, max(len(places), 1) - 0.5, LEFT, WIDTH[size] - RIGHT)
    flagged = flags(changes, across)
    top = HEAD + LINE * len({flag.row for flag in flagged})
    values = around(_drawn(chart), unit.least, unit.within)
    axes = _Axes(across, Scale(values[0], values[-1], top + PLOT, top), unit)
    return ControlView(
        key=key,
        title=title,
        description=described(chart, places, marked, unit),
        frame=Frame(
            size=size,
            height=top + PLOT + FOOT,
            left=LEFT,
            right=WIDTH[size] - RIGHT,
            top=top,
            bottom=top + PLOT,
            x_ticks=thinned([Tick(across.at(at), one.label) for at, one in enumerate(places)]),
            y_ticks=tuple(Tick(axes.up.at(value), unit.write(value)) for value in values),
        ),
        centre=_steps(chart, axes, lambda point: point.centre),
        limits=" ".join(
            _steps(chart, axes, limit) for limit in (lambda one: one.low, lambda one: one.high)
        ).strip(),
        line=_line(chart, axes),
        dots=_dots(chart, places, axes, shapes(signals, places), marked),
        ends=_ends(chart, axes),
        flags=flagged,
        signals=marked,
        note=note(chart, places),
        table=table(title, chart, places, marked, unit),
    )


def _drawn(chart: ControlChart) -> list[float]:
    """Everything that the axis has to hold."""
    figures = (
        figure
        for point in chart.points
        for figure in (point.value, point.low, point.high, point.centre)
    )
    return [figure for figure in figures if figure is not None]


def _steps(chart: ControlChart, axes: _Axes, read: Callable[[Point], float | None]) -> str:
    """The path of a limit, level over each place; it ends with a phase and where there is none."""
    path: list[str] = []
    before: int | None = None
    for at, point in enumerate(chart.points):
        figure = read(point)
        if figure is None:
            before = None
            continue
        y, end = axes.up.at(figure), axes.across.at(at + 0.5)
        begin = f"V{y:g}" if before == point.phase else f"M{axes.across.at(at - 0.5):g} {y:g}"
        path.append(f"{begin}H{end:g}")
        before = point.phase
    return "".join(path)


def _line(chart: ControlChart, axes: _Axes) -> str:
    """The path through the values, over places without one, interrupted between phases."""
    path: list[str] = []
    before: int | None = None
    for at, point in enumerate(chart.points):
        if point.value is not None:
            pen = "L" if before == point.phase else "M"
            path.append(f"{pen}{axes.across.at(at):g} {axes.up.at(point.value):g}")
            before = point.phase
    return "".join(path)


def _dots(
    chart: ControlChart,
    places: Sequence[Place],
    axes: _Axes,
    shaped: Sequence[str],
    marked: Sequence[Marked],
) -> tuple[Dot, ...]:
    return tuple(
        _dot(axes, at, point.value, point.centre, places[at], shaped[at], letters_at(marked, at))
        for at, point in enumerate(chart.points)
        if point.value is not None
    )


def _dot(
    axes: _Axes,
    at: int,
    value: float,
    centre: float | None,
    place: Place,
    shape: str,
    letters: str,
) -> Dot:
    y = axes.up.at(value)
    is_above = centre is not None and value >= centre
    return Dot(
        x=axes.across.at(at),
        y=y,
        shape=shape,
        letters=letters,
        letters_y=y - LETTER_ABOVE if is_above else y + LETTER_BELOW,
        told=f"{place.name}: {with_figures(axes.unit.write(value), place.figures)}",
    )


def _ends(chart: ControlChart, axes: _Axes) -> tuple[Tick, ...]:
    """Centre and limits of the last place that has them, from above, none over another."""
    last = next((one for one in reversed(chart.points) if one.high is not None), None)
    if last is None:
        return ()
    figures = {one for one in (last.high, last.centre, last.low) if one is not None}
    found: list[Tick] = []
    for figure in sorted(figures, reverse=True):
        y = axes.up.at(figure)
        if not found or y - found[-1].at >= LINE - 2:
            found.append(Tick(y, axes.unit.write(figure)))
    return tuple(found)
