"""The ground that a chart is drawn on: its size, its plot, its axes, and the table beside it.

A drawing is shown at its own size or larger, never smaller: on a narrower screen its box scrolls,
so that no text falls below 12 px. On paper it is made to fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil
from string import ascii_uppercase
from typing import Final

from server.pages.charts.scale import Tick

LETTER_WIDTH: Final = 6.6
LINE: Final = 15.0


class Size(StrEnum):
    """How wide a drawing is; the narrow one fits a phone. Also the name of its class."""

    NARROW = "narrow"
    MEDIUM = "medium"
    WIDE = "wide"
    WIDEST = "widest"


WIDTH: Final[dict[Size, float]] = {
    Size.NARROW: 340.0,
    Size.MEDIUM: 520.0,
    Size.WIDE: 720.0,
    Size.WIDEST: 1040.0,
}


@dataclass(frozen=True, slots=True)
class Frame:
    """The size of a drawing, the edges of its plot and what is written along its axes."""

    size: Size
    height: float
    left: float
    right: float
    top: float
    bottom: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]

    @property
    def width(self) -> float:
        """Of the whole drawing."""
        return WIDTH[self.size]


@dataclass(frozen=True, slots=True)
class FigureTable:
    """The numbers of a chart: heads and rows of equal length, the first cell names the row."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def text_width(text: str) -> float:
    """About how wide a text is in a chart."""
    return len(text) * LETTER_WIDTH


def cut(text: str, longest: int) -> str:
    """Answer a text of up to so many letters, the last of them an ellipsis where it was cut."""
    return text if len(text) <= longest else f"{text[: longest - 1].rstrip()}…"


def letter_of(place: int) -> str:
    """Answer A to Z, and then AA to ZZ, for places from 0 on."""
    times, at = divmod(place, len(ascii_uppercase))
    return ascii_uppercase[at] * (times + 1)


def thinned(ticks: Sequence[Tick]) -> tuple[Tick, ...]:
    """Answer every so many of ticks in equal steps, so that their texts stand apart.

    The last is among them: it is the newest.
    """
    if len(ticks) < 2:  # noqa: PLR2004 - one alone is beside nothing
        return tuple(ticks)
    step = ticks[1].at - ticks[0].at
    every = max(1, ceil((max(text_width(one.text) for one in ticks) + LETTER_WIDTH) / step))
    return tuple(ticks[::-1][::every][::-1])
