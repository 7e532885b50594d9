"""The figures of growth as a table and as a chart: how many times as much each costs.

One panel a figure, a bar for each size, all on one scale of times, so that what stays flat is seen
to stay flat. Every bar carries its number; nothing is said by colour alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parent
FIGURES: Final = FOLDER / "growth.json"
CHART: Final = FOLDER / "growth.svg"

Figures = dict[str, float]

WIDTH, LEFT, RIGHT = 860, 300, 140
ROW, GAP, TOP = 20, 18, 54
MOST: Final = 10.0
FILLS: Final = ("#1f4e5f", "#b5541c", "#6a7f2a")
INK, FAINT = "#20262b", "#c9d0d4"


def table(found: Mapping[str, Figures]) -> str:
    """The figures as a table of Markdown, a column for each size."""
    base, *others = found
    head = ["", base, *others]
    rows = [[name, *_cells(found, name)] for name in found[base]]
    rule = ["---", *("---:" for _ in found)]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in (head, rule, *rows))


def _cells(found: Mapping[str, Figures], name: str) -> Iterator[str]:
    base, *others = [figures[name] for figures in found.values()]
    yield _said(base)
    for value in others:
        yield f"{_said(value)} ({value / base:.1f}×)"


def _said(value: float) -> str:
    return f"{value:,.0f}" if value >= 20 else f"{value:.1f}" if value >= 1 else f"{value:.2f}"


def chart(found: Mapping[str, Figures]) -> str:
    """The same as an SVG: each figure as times of the smallest size."""
    base, *others = found
    names = list(found[base])
    height = TOP + len(names) * (len(others) * ROW + GAP) + 12
    parts = [*_frame(base, height), *_axis(height)]
    for place, name in enumerate(names):
        top = TOP + place * (len(others) * ROW + GAP)
        parts += _panel(found, name, others, top)
    return "\n".join([*parts, "</svg>\n"])


def _frame(base: str, height: int) -> Iterator[str]:
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" role="img" font-family="sans-serif" font-size="12">'
    )
    yield f"<title>How many times as much as with {escape(base)}</title>"
    yield f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>'
    yield _text(12, 20, f"Times as much as with {base}", weight="bold")


def _axis(height: int) -> Iterator[str]:
    for times in (0, 1, 2, 5, 10):
        x = _x(times)
        dash = "" if times == 1 else ' stroke-dasharray="2 3"'
        yield (
            f'<line x1="{x}" x2="{x}" y1="{TOP - 8}" y2="{height - 10}" '
            f'stroke="{INK if times == 1 else FAINT}"{dash}/>'
        )
        yield _text(x, TOP - 14, f"{times}×", anchor="middle")


def _panel(
    found: Mapping[str, Figures], name: str, others: Sequence[str], top: int
) -> Iterator[str]:
    base = next(iter(found.values()))[name]
    yield _text(12, top + 14, name)
    for place, (other, fill) in enumerate(zip(others, FILLS, strict=False)):
        y, times = top + place * ROW, found[other][name] / base
        end = _x(min(times, MOST))
        yield (
            f'<rect x="{_x(0)}" y="{y + 2}" width="{max(1.0, end - _x(0)):.1f}" '
            f'height="{ROW - 6}" fill="{fill}"/>'
        )
        yield _text(end + 6, y + 13, f"{times:.1f}× {other}")


def _x(times: float) -> float:
    return round(LEFT + (WIDTH - LEFT - RIGHT) * times / MOST, 1)


def _text(x: float, y: float, said: str, *, anchor: str = "start", weight: str = "normal") -> str:
    return (
        f'<text x="{x:.1f}" y="{y}" fill="{INK}" text-anchor="{anchor}" '
        f'font-weight="{weight}" stroke="#ffffff" stroke-width="3" paint-order="stroke">'
        f"{escape(said)}</text>"
    )
