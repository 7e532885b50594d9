"""What a benchmark found: a ratio against the bare parts, and what it has to be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

HEAD: Final = ("benchmark", "ours", "bare", "", "ratio", "wanted", "")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One line of the table. `wanted` None: shown for information, and nothing is asked of it.

    With `at_least`, the ratio is bare / ours and `wanted` its floor: how much of the bare speed is
    left. Otherwise it is ours / bare and `wanted` its ceiling.
    """

    name: str
    ours: float
    bare: float
    unit: str
    ratio: float
    wanted: float | None
    at_least: bool = False

    @property
    def misses(self) -> bool:
        """Whether it is too slow."""
        if self.wanted is None:
            return False
        return self.ratio < self.wanted if self.at_least else self.ratio > self.wanted


def table(outcomes: Iterable[Outcome]) -> str:
    """The outcomes in columns, ready to be printed."""
    lines = [HEAD, *(_cells(outcome) for outcome in outcomes)]
    widths = [max(len(line[place]) for line in lines) for place in range(len(HEAD))]
    return "\n".join(_line(cells, widths) for cells in lines)


def _cells(outcome: Outcome) -> tuple[str, ...]:
    return (
        outcome.name,
        f"{outcome.ours:,.1f}",
        f"{outcome.bare:,.1f}",
        outcome.unit,
        f"{outcome.ratio:.3f}" if outcome.at_least else f"{outcome.ratio:.2f}",
        _wanted(outcome),
        _verdict(outcome),
    )


def _wanted(outcome: Outcome) -> str:
    if outcome.wanted is None:
        return "–"
    return f"{'≥' if outcome.at_least else '≤'} {outcome.wanted:g}"


def _verdict(outcome: Outcome) -> str:
    if outcome.wanted is None:
        return "shown only"
    return "TOO SLOW" if outcome.misses else "ok"


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    name, *rest = cells
    figures = [cell.rjust(width) for cell, width in zip(rest, widths[1:], strict=True)]
    figures[2] = rest[2].ljust(widths[3])
    figures[5] = rest[5].ljust(widths[6])
    return "  ".join([name.ljust(widths[0]), *figures]).rstrip()


@dataclass(frozen=True, slots=True)
class Report:
    """What a study found, ready to be printed, and whether it falls short of what is wanted."""

    text: str
    misses: bool = False


def columns(lines: Iterable[Sequence[str]]) -> str:
    """Lines of cells as columns: the first is aligned left, the others right."""
    listed = [tuple(line) for line in lines]
    widths = [max(map(len, column)) for column in zip(*listed, strict=True)]
    return "\n".join(_aligned(cells, widths) for cells in listed)


def _aligned(cells: Sequence[str], widths: Sequence[int]) -> str:
    name, *rest = cells
    right = [cell.rjust(width) for cell, width in zip(rest, widths[1:], strict=True)]
    return "  ".join([name.ljust(widths[0]), *right]).rstrip()
