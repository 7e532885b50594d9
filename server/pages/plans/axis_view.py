"""The stretch of time that a plan shows: its hours, the nights and handovers in it, and now."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from server.domain.workload.period import Period
from server.pages.page_head import iso
from server.pages.time_window import Tick, Window, axis
from server.services.planning_ground import Ground

LETTER: Final = 1.05
"""How much of the axis a letter needs at the least, in per cent."""
_FLAG_LETTERS: Final = 6
_WHOLE: Final = 100


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch that runs through all rows, in per cent of the axis."""

    kind: str
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class BandWord:
    """The name of a band over the axis; `anchor` is the edge of the word that is at `x`."""

    text: str
    x: float
    anchor: str


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
    words: tuple[BandWord, ...]
    grid_minutes: int


def window_of(period: Period) -> Window:
    """Answer the window over a period."""
    return Window(period.from_at, period.until_at)


def axis_view(ground: Ground, window: Window, slots: tuple[Period, ...]) -> AxisView:
    """Answer the axis over the slots of a load."""
    now_x = window.x(ground.now) if window.shows(ground.now) else None
    bands = tuple(_bands(ground, window))
    return AxisView(
        from_iso=iso(window.start),
        to_iso=iso(window.end),
        now_x=now_x,
        now_text=f"{ground.now.astimezone(ground.zone):%H:%M}",
        day=f"{window.start.astimezone(ground.zone):%Y-%m-%d}",
        ticks=axis(window, ground.zone),
        quarters=tuple(window.x(slot.from_at) for slot in slots),
        bands=bands,
        words=tuple(band_words(bands, now_x)),
        grid_minutes=int(ground.terms.grid.total_seconds()) // 60,
    )


def _bands(ground: Ground, window: Window) -> Iterator[Band]:
    rules = ground.problem.capacity.rules
    for kind, periods in (("handover", rules.handovers), ("night", rules.nights)):
        for period in periods:
            cut = window.cut(period.from_at, period.until_at)
            if cut is not None:
                yield Band(kind, cut[0], round(cut[1] - cut[0], 2))


def band_words(bands: Iterable[Band], now_x: float | None) -> Iterator[BandWord]:
    """Answer the name of each band where it covers no other, nor the flag of now; else none."""
    flag = _FLAG_LETTERS * LETTER
    taken = [] if now_x is None else [(now_x - flag / 2, now_x + flag / 2)]
    for band in bands:
        width = len(band.kind) * LETTER
        for word, first in _places(band, width):
            last = first + width
            if first >= 0 and last <= _WHOLE and not _touches(first, last, taken):
                taken.append((first, last))
                yield word
                break


def _places(band: Band, width: float) -> tuple[tuple[BandWord, float], ...]:
    """Where the name of a band may stand, the best first, each with its left edge."""
    middle, end = round(band.x + band.width / 2, 2), round(band.x + band.width, 2)
    return (
        (BandWord(band.kind, band.x, "start"), band.x),
        (BandWord(band.kind, middle, "middle"), middle - width / 2),
        (BandWord(band.kind, end, "end"), end - width),
    )


def _touches(first: float, last: float, taken: Iterable[tuple[float, float]]) -> bool:
    return any(first < until and begin < last for begin, until in taken)
