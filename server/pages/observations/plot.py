"""The trend of one sign as a small picture: places in a drawing of fixed size, in user units."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Final

WIDTH: Final = 320.0
HEIGHT: Final = 132.0
LEFT: Final = 34.0
RIGHT: Final = 300.0
TOP: Final = 44.0
BOTTOM: Final = 108.0
LABEL_ABOVE: Final = 7.0
LETTER_WIDTH: Final = 7.0
FEW: Final = 5
"""Up to so many values are written out each; of more only the first, last, highest and lowest."""


@dataclass(frozen=True, slots=True)
class Span:
    """The stretch of time that is drawn."""

    start: datetime
    end: datetime

    def x(self, at: datetime) -> float:
        """Where an instant lies across."""
        whole = max(self.end - self.start, timedelta(minutes=1))
        return round(LEFT + (RIGHT - LEFT) * ((at - self.start) / whole), 1)


@dataclass(frozen=True, slots=True)
class Reading:
    """One value of a sign with its second figure, where it has two, as a pressure does."""

    at: datetime
    value: float
    low: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One value as it is drawn; `low_y` is the place of the second figure, None without one."""

    x: float
    y: float
    low_y: float | None
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Plot:
    """The drawn values, the line through them, and the values at the two edges of the scale."""

    dots: tuple[Dot, ...]
    line: str
    top_text: str
    bottom_text: str


def plot(readings: list[Reading], span: Span, least: float, *, ceiling: float) -> Plot:
    """Draw a sign; the scale spans at least `least` of its unit, and nothing above `ceiling`."""
    values = [one.value for one in readings]
    lows = [one.value if one.low is None else one.low for one in readings]
    bottom, top = _scale(min([*values, *lows]), max(values), least, ceiling)

    def y(value: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * (value - bottom) / (top - bottom), 1)

    places = [span.x(one.at) for one in readings]
    written = _apart(_written(values), places, [one.text for one in readings])
    dots = tuple(
        Dot(
            x=places[place],
            y=y(one.value),
            low_y=None if one.low is None else y(one.low),
            text=one.text if place in written else "",
            anchor=_anchor(places[place]),
        )
        for place, one in enumerate(readings)
    )
    line = " ".join(f"{dot.x:g},{dot.y:g}" for dot in dots)
    return Plot(dots, line, f"{top:g}", f"{bottom:g}")


def _scale(low: float, high: float, least: float, ceiling: float) -> tuple[float, float]:
    """The edges of the scale in whole units, around the values with some room."""
    room = max(0.0, least - (high - low)) / 2
    top = min(ceiling, ceil(high + room))
    return floor(min(low - room, top - least)), top


def _written(values: list[float]) -> set[int]:
    if len(values) <= FEW:
        return set(range(len(values)))
    highest, lowest = values.index(max(values)), values.index(min(values))
    return {0, len(values) - 1, highest, lowest}


def _apart(written: set[int], places: list[float], texts: list[str]) -> set[int]:
    """Those that can be written beside each other; the last value is always there."""
    kept, free_until = set[int](), float("inf")
    for place in sorted(written, reverse=True):
        start, end = _reach(places[place], texts[place])
        if end <= free_until:
            kept.add(place)
            free_until = start
    return kept


def _reach(x: float, text: str) -> tuple[float, float]:
    """From where to where a label reaches across, by the width of its letters."""
    width = len(text) * LETTER_WIDTH
    before = {"start": 0.0, "middle": width / 2, "end": width}[_anchor(x)]
    return x - before, x - before + width


def _anchor(x: float) -> str:
    """Which part of a label stands at its dot, so that none is cut at an edge."""
    edge = (RIGHT - LEFT) / 10
    if x < LEFT + edge:
        return "start"
    return "end" if x > RIGHT - edge else "middle"


def staggered(places: Iterable[float], near: float, rows: int) -> list[int]:
    """Answer a row for each mark along a line, so that neighbours nearer than `near` part."""
    ends = [-near] * rows
    found: list[int] = []
    for x in places:
        row = next((row for row, last in enumerate(ends) if x - last >= near), 0)
        ends[row] = x
        found.append(row)
    return found
