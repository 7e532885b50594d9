"""How long something takes, as rising curves: the part for which it had happened by each minute."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from server.domain.review.rates import ENOUGH
from server.domain.review.survival import Curve
from server.pages.charts.curve_words import Group, described, note, table, told
from server.pages.charts.frame import LINE, WIDTH, FigureTable, Frame, Size, letter_of
from server.pages.charts.scale import Scale, Tick, round_values
from server.pages.charts.units import minutes, percent

LEFT: Final = 44.0
RIGHT: Final = 24.0
TOP: Final = 30.0
PLOT: Final = 200.0
FOOT: Final = 40.0
LEAST: Final = 10.0
"""The axis of time holds at least so many minutes."""
PARTS: Final = (0.0, 0.25, 0.5, 0.75, 0.9, 1.0)
DASHES: Final = 6
"""So many ways of drawing a line are told apart; after them they begin anew."""


@dataclass(frozen=True, slots=True)
class Mark:
    """The median or the time of nine in ten on a curve; shape: median or p90."""

    x: float
    y: float
    shape: str
    told: str


@dataclass(frozen=True, slots=True)
class CurveLine:
    """The curve of one group; `dash` counts from 0.

    Its letter stands at the right, at `letter_y`; `told` is what the key says of it.
    """

    letter: str
    dash: int
    path: str
    letter_y: float
    marks: tuple[Mark, ...]
    told: str


@dataclass(frozen=True, slots=True)
class CurvesView:
    """Everything about a chart of curves. `band` is the interval around a single one, else empty.

    `limit` is where the limit lies across and what is written there, None without one.
    """

    key: str
    title: str
    description: str
    frame: Frame
    lines: tuple[CurveLine, ...]
    band: str
    limit: Tick | None
    note: str
    table: FigureTable


@dataclass(frozen=True, slots=True)
class _Axes:
    across: Scale
    up: Scale


def curves_view(
    key: str, title: str, groups: Sequence[Group], limit_minutes: float | None = None
) -> CurvesView:
    """Draw the curves of groups up to the time of nine in ten of the slowest and a half more.

    Of several groups those of few stand in the table only. `key` is an id that the page has once.
    """
    drawn = _worth_drawing(groups)
    longest = max((_reach(group.curve) for group in drawn), default=0.0)
    times = round_values(0, max(LEAST, longest, 1.1 * (limit_minutes or 0)))
    across = Scale(0, times[-1], LEFT, WIDTH[Size.NARROW] - RIGHT)
    axes = _Axes(across, Scale(0, 1, TOP + PLOT, TOP))
    return CurvesView(
        key=key,
        title=title,
        description=described(drawn, limit_minutes),
        frame=Frame(
            size=Size.NARROW,
            height=TOP + PLOT + FOOT,
            left=LEFT,
            right=WIDTH[Size.NARROW] - RIGHT,
            top=TOP,
            bottom=TOP + PLOT,
            x_ticks=tuple(Tick(across.at(at), f"{at:g}") for at in times),
            y_ticks=tuple(Tick(axes.up.at(part), percent(part)) for part in PARTS),
        ),
        lines=_lines(drawn, axes, limit_minutes),
        band=_band(drawn[0].curve, axes) if len(drawn) == 1 else "",
        limit=None if limit_minutes is None else _limit(axes, limit_minutes),
        note=note(groups, drawn),
        table=table(title, groups),
    )


def _worth_drawing(groups: Sequence[Group]) -> list[Group]:
    """A curve of few among others only hides them; the first one is drawn whatever it is."""
    some = [group for group in groups if group.curve.steps]
    return some[:1] + [group for group in some[1:] if group.curve.total >= ENOUGH]


def _reach(curve: Curve) -> float:
    """How much time of a curve is worth drawing: few wait very long."""
    last, p90 = curve.steps[-1].minutes, curve.p90
    return last if p90 is None else min(last, 1.5 * p90)


def _lines(
    groups: Sequence[Group], axes: _Axes, limit_minutes: float | None
) -> tuple[CurveLine, ...]:
    """The curves in the order of their groups, their letters from above by where they end."""
    ends = [axes.up.at(1 - one.curve.survival_at(axes.across.high)) for one in groups]
    letter_y = dict(_apart(sorted(range(len(groups)), key=lambda at: ends[at]), ends))
    return tuple(
        CurveLine(
            letter=letter_of(at),
            dash=at % DASHES,
            path=_path(group.curve, axes),
            letter_y=letter_y[at],
            marks=_marks(group, axes),
            told=told(group, limit_minutes),
        )
        for at, group in enumerate(groups)
    )


def _apart(order: Iterable[int], ends: Sequence[float]) -> Iterator[tuple[int, float]]:
    """Each at its end, or under the one before it."""
    lowest = -inf
    for at in order:
        lowest = max(ends[at], lowest + LINE)
        yield at, lowest


def _path(curve: Curve, axes: _Axes) -> str:
    """A step at each time at which it happened, drawn to the last time anything is known of."""
    path = [f"M{axes.across.at(0):g} {axes.up.at(0):g}"]
    for step in curve.steps:
        x, y = axes.across.at(step.minutes), axes.up.at(1 - step.survival)
        path.append(f"H{x:g}V{y:g}" if step.events else f"H{x:g}")
        if step.minutes >= axes.across.high:
            break
    return "".join(path)


def _marks(group: Group, axes: _Axes) -> tuple[Mark, ...]:
    found = (
        ("median", 0.5, group.curve.median, "half"),
        ("p90", 0.9, group.curve.p90, "nine in ten"),
    )
    return tuple(
        Mark(
            x=axes.across.at(at),
            y=axes.up.at(part),
            shape=shape,
            told=f"{group.name}: {words} within {minutes(at)}",
        )
        for shape, part, at, words in found
        if at is not None and at <= axes.across.high
    )


def _band(curve: Curve, axes: _Axes) -> str:
    """The interval around a curve as a closed path, as far as it is known."""
    known = [one for one in curve.steps if one.interval and one.minutes <= axes.across.high]
    if not known:
        return ""
    xs = [axes.across.at(one.minutes) for one in known] + [axes.across.at(known[-1].minutes)]
    highs = [axes.up.at(1 - one.interval.low) for one in known if one.interval]
    lows = [axes.up.at(1 - one.interval.high) for one in known if one.interval]
    over = "".join(f"V{y:g}H{x:g}" for y, x in zip(highs, xs[1:], strict=True))
    under = "".join(f"V{y:g}H{x:g}" for y, x in zip(lows[::-1], xs[-2::-1], strict=True))
    return f"M{xs[0]:g} {lows[0]:g}{over}{under}z"


def _limit(axes: _Axes, limit_minutes: float) -> Tick:
    return Tick(axes.across.at(limit_minutes), f"limit {minutes(limit_minutes)}")
