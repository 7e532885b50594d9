"""A funnel plot as a drawing: the rate of each ward by how much it owed, and what chance allows."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.funnel import Limits, Standing, funnel_limits, standing
from server.domain.review.rates import Tally, caution
from server.pages.charts.frame import LINE, WIDTH, FigureTable, Frame, Size
from server.pages.charts.names import Name, named, shortened
from server.pages.charts.scale import Scale, Tick, around, round_values
from server.pages.charts.units import PERCENT, percent

LEFT: Final = 44.0
RIGHT: Final = 52.0
FEW: Final = 6
"""Up to so many wards fit the narrow drawing with their names."""
TOP: Final = 18.0
PLOT: Final = 230.0
FOOT: Final = 40.0
LEAST_OWED: Final = 10
"""The axis holds at least so many, so that it counts in whole ones."""
CURVE_STEPS: Final = 60
NONE: Final = "–"

STANDING: Final[dict[Standing, str]] = {
    Standing.INSIDE: "within what chance allows",
    Standing.ABOVE_95: "above the 95 % limit",
    Standing.ABOVE_998: "above the 99.8 % limit",
    Standing.BELOW_95: "below the 95 % limit",
    Standing.BELOW_998: "below the 99.8 % limit",
}
SHAPE: Final[dict[Standing, str]] = {
    Standing.INSIDE: "dot",
    Standing.ABOVE_95: "square",
    Standing.BELOW_95: "square",
    Standing.ABOVE_998: "diamond",
    Standing.BELOW_998: "diamond",
}


@dataclass(frozen=True, slots=True)
class _Limit:
    """One of the four: a ward passes it by chance in a part `chance` of the time."""

    kind: str
    is_high: bool
    chance: float
    read: Callable[[Limits], float]

    def can_be_passed(self, owed: int, target: float) -> bool:
        """Whether all met, or none, would be rare enough."""
        return (target if self.is_high else 1 - target) ** owed <= self.chance


_LIMITS: Final = (
    _Limit("outer", True, 0.001, lambda one: one.high_998),
    _Limit("inner", True, 0.025, lambda one: one.high_95),
    _Limit("inner", False, 0.025, lambda one: one.low_95),
    _Limit("outer", False, 0.001, lambda one: one.low_998),
)
_WRITTEN: Final = {"outer": "99.8 %", "inner": "95 %"}


@dataclass(frozen=True, slots=True)
class Ward:
    """A ward and its clocks of one kind."""

    name: str
    tally: Tally


@dataclass(frozen=True, slots=True)
class WardDot:
    """A ward as it is drawn; shape: as in a control chart."""

    x: float
    y: float
    shape: str
    name: Name
    told: str


@dataclass(frozen=True, slots=True)
class LimitCurve:
    """One limit. kind: inner (95 %) or outer (99.8 %)."""

    kind: str
    path: str


@dataclass(frozen=True, slots=True)
class FunnelView:
    """Everything about a funnel plot. `ends` are written at the right ends of its lines."""

    key: str
    title: str
    description: str
    frame: Frame
    target_y: float
    curves: tuple[LimitCurve, ...]
    ends: tuple[Tick, ...]
    dots: tuple[WardDot, ...]
    table: FigureTable


@dataclass(frozen=True, slots=True)
class _Axes:
    across: Scale
    up: Scale


def funnel_view(
    key: str, title: str, wards: Sequence[Ward], target: float, target_name: str = "all wards"
) -> FunnelView:
    """Draw wards about a target fraction of 0 to 1, named `target_name` ("all wards", "published").

    A ward that owed nothing stands in the table only. `key` is an id that the page has once.
    """
    drawn = [ward for ward in wards if ward.tally.owed]
    most = max((ward.tally.owed for ward in drawn), default=1)
    sizes = round_values(0, max(LEAST_OWED, most * 1.05))
    rates = [ward.tally.met / ward.tally.owed for ward in drawn]
    typical = funnel_limits(max(1, most // 4), target)
    values = around([*rates, typical.low_998, typical.high_998], PERCENT.least, PERCENT.within)
    size = Size.NARROW if len(drawn) <= FEW else Size.MEDIUM
    across = Scale(0, sizes[-1], LEFT, WIDTH[size] - RIGHT)
    axes = _Axes(across, Scale(values[0], values[-1], TOP + PLOT, TOP))
    return FunnelView(
        key=key,
        title=title,
        description=_described(drawn, target, target_name),
        frame=Frame(
            size=size,
            height=TOP + PLOT + FOOT,
            left=LEFT,
            right=WIDTH[size] - RIGHT,
            top=TOP,
            bottom=TOP + PLOT,
            x_ticks=tuple(Tick(across.at(owed), f"{owed:g}") for owed in sizes),
            y_ticks=tuple(Tick(axes.up.at(value), percent(value)) for value in values),
        ),
        target_y=axes.up.at(target),
        curves=tuple(_curves(axes, target)),
        ends=_ends(axes, target),
        dots=_dots(drawn, axes, target),
        table=_table(title, wards, target),
    )


def _curves(axes: _Axes, target: float) -> Iterator[LimitCurve]:
    """The limits, drawn where they lie on the axis and where a ward could pass them."""
    last = axes.across.high
    sizes = sorted({max(1, round(last * (at / CURVE_STEPS) ** 2)) for at in range(CURVE_STEPS + 1)})
    limits = [(size, funnel_limits(size, target)) for size in sizes]
    for limit in _LIMITS:
        drawn = [
            f"{axes.across.at(size):g} {axes.up.at(limit.read(one)):g}"
            for size, one in limits
            if limit.can_be_passed(size, target) and axes.up.holds(limit.read(one))
        ]
        yield LimitCurve(limit.kind, f"M{'L'.join(drawn)}" if drawn else "")


def _ends(axes: _Axes, target: float) -> tuple[Tick, ...]:
    """What stands at the right: the target first, and limits where they leave it room."""
    limits = funnel_limits(round(axes.across.high), target)
    found = [Tick(axes.up.at(target), percent(target))]
    for limit in _LIMITS:
        y = axes.up.at(limit.read(limits))
        if all(abs(y - other.at) >= LINE - 2 for other in found):
            found.append(Tick(y, _WRITTEN[limit.kind]))
    return tuple(found)


def _dots(wards: Sequence[Ward], axes: _Axes, target: float) -> tuple[WardDot, ...]:
    places = [(axes.across.at(one.tally.owed), axes.up.at(one.tally.rate or 0)) for one in wards]
    names = named(
        shortened([ward.name for ward in wards]),
        places,
        across=(axes.across.start, axes.across.end),
        down=(axes.up.end, axes.up.start),
    )
    return tuple(
        _dot(ward, place, name, target)
        for ward, place, name in zip(wards, places, names, strict=True)
    )


def _dot(ward: Ward, place: tuple[float, float], name: Name, target: float) -> WardDot:
    tally = ward.tally
    stands = standing(tally.met, tally.owed, target)
    told = f"{ward.name}: {percent(tally.met / tally.owed)} ({_figures(tally)})"
    return WardDot(
        x=place[0],
        y=place[1],
        shape="ring" if tally.is_small and stands is Standing.INSIDE else SHAPE[stands],
        name=name,
        told=f"{told}, {STANDING[stands]}",
    )


def _figures(tally: Tally) -> str:
    return f"{tally.met} of {tally.owed}"


def _described(wards: Sequence[Ward], target: float, target_name: str) -> str:
    outside = [
        f"{ward.name} is {STANDING[stands]}, {_figures(ward.tally)}"
        for ward in wards
        if (stands := standing(ward.tally.met, ward.tally.owed, target)) is not Standing.INSIDE
    ]
    many = "1 ward" if len(wards) == 1 else f"{len(wards)} wards"
    said = f"{'; '.join(outside)}." if outside else "All lie within what chance allows."
    return f"{many} about {percent(target)} ({target_name}). {said}"


def _table(title: str, wards: Sequence[Ward], target: float) -> FigureTable:
    return FigureTable(
        caption=title,
        heads=("Ward", "In time", "Owed", "Rate", "95 % limits", "99.8 % limits", "Stands"),
        rows=tuple(_row(ward, target) for ward in wards),
    )


def _row(ward: Ward, target: float) -> tuple[str, ...]:
    tally = ward.tally
    if not tally.owed:
        return ward.name, "0", "0", NONE, NONE, NONE, caution(tally)
    limits = funnel_limits(tally.owed, target)
    stands = STANDING[standing(tally.met, tally.owed, target)]
    return (
        ward.name,
        str(tally.met),
        str(tally.owed),
        percent(tally.met / tally.owed),
        f"{percent(limits.low_95)} to {percent(limits.high_95)}",
        f"{percent(limits.low_998)} to {percent(limits.high_998)}",
        f"{stands}; {caution(tally)}" if tally.is_small else stands,
    )
