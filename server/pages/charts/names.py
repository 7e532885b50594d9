"""Names beside the dots of a drawing, so that none lies over another or over a dot."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from server.pages.charts.frame import LETTER_WIDTH, LINE, cut, text_width

HALF_DOT: Final = 6.0
BASE: Final = 4.0
"""The middle of a line of text lies so far above where it stands."""
LONGEST: Final = 18
FARTHEST: Final = 6
"""So many lines away from its dot a name is looked a place for."""


@dataclass(frozen=True, slots=True)
class Name:
    """A name as it is drawn; `leads` is how far up or down its line to the dot goes, 0: none."""

    text: str
    x: float
    y: float
    anchor: str
    leads: float = 0.0


class _Taken(NamedTuple):
    """What something covers across, and the middle of its height."""

    begin: float
    end: float
    middle: float

    def is_over(self, other: "_Taken") -> bool:
        beside = self.end <= other.begin or other.end <= self.begin
        return not beside and abs(self.middle - other.middle) < LINE - BASE / 2


def named(
    names: Sequence[str],
    places: Sequence[tuple[float, float]],
    across: tuple[float, float],
    down: tuple[float, float],
) -> tuple[Name, ...]:
    """Answer each name near its dot, between the edges `across` and `down` of a plot.

    Where nothing is free, a name stands at the right of its dot all the same.
    """
    taken = [_Taken(x - HALF_DOT, x + HALF_DOT, y) for x, y in places]
    found: list[Name] = []
    for text, (x, y) in zip(names, places, strict=True):
        tried = [(one, _covered(one)) for one in _around(text, x, y)]
        free = (
            one
            for one in tried
            if across[0] < one[1].begin
            and one[1].end < across[1]
            and down[0] < one[1].middle < down[1]
            and not any(one[1].is_over(other) for other in taken)
        )
        name, covered = next(free, tried[0])
        taken.append(covered)
        found.append(name)
    return tuple(found)


def shortened(names: Sequence[str]) -> tuple[str, ...]:
    """Answer names short enough for a drawing: up to their comma, and cut where they are long.

    Where two would be the same, all stay as they are.
    """
    found = [cut(name.split(",", maxsplit=1)[0], LONGEST) for name in names]
    return tuple(found) if len(set(found)) == len(set(names)) else tuple(names)


def _around(text: str, x: float, y: float) -> Iterator[Name]:
    """Where a name may stand, the best first: beside its dot, over and under it, and farther."""
    yield Name(text, x + 8, y + BASE, "start")
    yield Name(text, x - 8, y + BASE, "end")
    for lines in range(FARTHEST):
        up, down = -9 - LINE * lines, 17 + LINE * lines
        for anchor, off in (("middle", 0), ("start", -4), ("end", 4)):
            yield Name(text, x + off, y + up, anchor, up + 2 if lines else 0.0)
            yield Name(text, x + off, y + down, anchor, down - 11 if lines else 0.0)


def _covered(name: Name) -> _Taken:
    width = text_width(name.text) + LETTER_WIDTH
    begin = name.x - {"start": 0.0, "middle": width / 2, "end": width}[name.anchor]
    return _Taken(begin, begin + width, name.y - BASE)
