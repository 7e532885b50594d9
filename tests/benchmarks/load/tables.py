"""Rows of a table of what was found under load."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.benchmarks.outcomes import columns


@dataclass(frozen=True, slots=True)
class Wanted:
    """None of the figures may be above the limit; `words` say it where the limit does not."""

    figures: Sequence[float]
    limit: float
    words: str | None = None

    @property
    def missed(self) -> bool:
        """Whether one is."""
        return any(figure > self.limit for figure in self.figures)

    def __str__(self) -> str:
        return self.words or f"≤ {self.limit:,g}"


@dataclass(frozen=True, slots=True)
class Row:
    """One line: what it is, a cell for each run, and what is wanted."""

    name: str
    cells: Sequence[str]
    wanted: Wanted | None = None

    @property
    def misses(self) -> bool:
        """Whether it falls short."""
        return self.wanted is not None and self.wanted.missed


def told(head: Sequence[str], rows: Iterable[Row]) -> str:
    """The rows below their head, ready to be printed."""
    lines = [(*head, "wanted", "")]
    for row in rows:
        verdict = "" if row.wanted is None else "MISSED" if row.misses else "ok"
        lines.append((row.name, *row.cells, str(row.wanted or ""), verdict))
    return columns(lines)


def percentile(values: Sequence[float], share: float) -> float:
    """The value that so large a share of them does not exceed; not a number if there are none."""
    if not values:
        return float("nan")
    place = min(len(values) - 1, int(len(values) * share))
    return sorted(values)[place]


def milliseconds(value: float) -> str:
    """A time as short as it may be."""
    return f"{value:,.0f}" if value >= 10 else f"{value:.1f}"
