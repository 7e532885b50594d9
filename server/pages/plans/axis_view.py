"""The stretch of time that a plan shows: its hours, the nights and handovers in it, and now."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.workload.period import Period
from server.domain.workload.wording import stretch
from server.pages.page_head import iso
from server.pages.time_window import Tick, Window, axis
from server.services.planning_ground import Ground


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch that runs through all rows, in per cent of the axis; `words` say what it is."""

    kind: str
    x: float
    width: float
    words: str


@dataclass(frozen=True, slots=True)
class AxisView:
    """The axis of a plan. `now_x` is None where the instant shown lies before it.

    `day` is the ward's date at its begin, `grid_minutes` the step in which starts move.
    """

    from_iso: str
    to_iso: str
    now_x: float | None
    now_text: str
    day: str
    ticks: tuple[Tick, ...]
    quarters: tuple[float, ...]
    bands: tuple[Band, ...]
    grid_minutes: int


def window_of(period: Period) -> Window:
    """Answer the window over a period."""
    return Window(period.from_at, period.until_at)


def axis_view(ground: Ground, window: Window, slots: tuple[Period, ...]) -> AxisView:
    """Answer the axis over the slots of a load."""
    return AxisView(
        from_iso=iso(window.start),
        to_iso=iso(window.end),
        now_x=window.x(ground.now) if window.shows(ground.now) else None,
        now_text=f"{ground.now.astimezone(ground.zone):%H:%M}",
        day=f"{window.start.astimezone(ground.zone):%Y-%m-%d}",
        ticks=axis(window, ground.zone),
        quarters=tuple(window.x(slot.from_at) for slot in slots),
        bands=tuple(_bands(ground, window)),
        grid_minutes=int(ground.terms.grid.total_seconds()) // 60,
    )


def _bands(ground: Ground, window: Window) -> Iterator[Band]:
    rules = ground.problem.capacity.rules
    for kind, periods in (("night", rules.nights), ("handover", rules.handovers)):
        for period in periods:
            cut = window.cut(period.from_at, period.until_at)
            if cut is not None:
                words = f"{kind.capitalize()} {stretch(period, ground.zone)}"
                yield Band(kind, cut[0], round(cut[1] - cut[0], 2), words)
