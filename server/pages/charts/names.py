"""Names beside the dots of a drawing, so that none lies over another or over a dot."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from server.pages.charts.frame import LINE, text_width

HALF_DOT: Final = 6.0
BASE: Final = 4.0
"""The middle of a line of text lies so far above where it stands."""


@dataclass(frozen=True, slots=True)
class Name:
    """A name as it is drawn."""

    text: str
    x: float
    y: float
    anchor: str


class _Taken(NamedTuple):
    """What something covers across, and the middle of its height."""

    begin: float
    end: float
    middle: float

    def is_over(self, other: "_Taken") -> bool:
        beside = self.end <= other.begin or other.end <= self.begin
        return not beside and abs(self.middle - other.middle) < LINE - BASE / 2


def named(
    names: Sequence[str], places: Sequence[tuple[float, float]], left: float
) -> tuple[Name, ...]:
    """Answer each name beside its dot, right of `left`.

    Where nothing around a dot is free, its name stands at its right all the same.
    """
    taken = [_Taken(x - HALF_DOT, x + HALF_DOT, y) for x, y in places]
    found: list[Name] = []
    for text, (x, y) in zip(names, places, strict=True):
        tried = [(one, _covered(one)) for one in _around(text, x, y)]
        free = (
            one
            for one in tried
            if one[1].begin > left and not any(one[1].is_over(other) for other in taken)
        )
        name, covered = next(free, tried[0])
        taken.append(covered)
        found.append(name)
    return tuple(found)


def _around(text: str, x: float, y: float) -> tuple[Name, ...]:
    """Where a name may stand, the best first."""
    return (
        Name(text, x + 8, y + BASE, "start"),
        Name(text, x - 8, y + BASE, "end"),
        Name(text, x, y - 9, "middle"),
        Name(text, x, y + 17, "middle"),
        Name(text, x + 6, y - 9, "start"),
        Name(text, x + 6, y + 17, "start"),
        Name(text, x - 6, y - 9, "end"),
        Name(text, x - 6, y + 17, "end"),
    )


def _covered(name: Name) -> _Taken:
    width = text_width(name.text)
    begin = name.x - {"start": 0.0, "middle": width / 2, "end": width}[name.anchor]
    return _Taken(begin, begin + width, name.y - BASE)
