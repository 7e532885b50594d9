"""A chart of curves in words and as a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.rates import ENOUGH
from server.domain.review.survival import Curve
from server.pages.charts.frame import FigureTable
from server.pages.charts.units import minutes, percent

NEVER: Final = "not reached"
NONE: Final = "–"


@dataclass(frozen=True, slots=True)
class Group:
    """Units of one kind, and how long it took for them."""

    name: str
    curve: Curve


def described(groups: Sequence[Group], limit_minutes: float | None) -> str:
    """Answer what the drawing shows, for whoever does not see it."""
    if not groups:
        return "There is nothing to draw."
    return " ".join(f"{told(group, limit_minutes)}." for group in groups)


def note(groups: Sequence[Group], drawn: Sequence[Group]) -> str:
    """Answer what to mind while reading it; empty where there is nothing."""
    small = [group.name for group in drawn if group.curve.total < ENOUGH]
    left_out = [group.name for group in groups if group.curve.steps and group not in drawn]
    notes = [f"Too few to judge: {', '.join(small)}."] if small else []
    if left_out:
        notes.append(f"Too few to draw, in the table only: {', '.join(left_out)}.")
    if any(group.curve.events < group.curve.total for group in drawn):
        notes.append(
            "Units that were sent back or still wait count until then (Kaplan-Meier): "
            "that they waited so long is known, how long they would have is not."
        )
    return " ".join(notes)


def table(title: str, groups: Sequence[Group]) -> FigureTable:
    """Answer the figures of each group."""
    return FigureTable(
        caption=title,
        heads=("Units", "Counted", "Happened", "Until then only", "Median", "Nine in ten within"),
        rows=tuple(_row(group) for group in groups),
    )


def _row(group: Group) -> tuple[str, ...]:
    curve = group.curve
    if not curve.steps:
        return (group.name, "0", "0", "0", NONE, NONE)
    counts = (curve.total, curve.events, curve.total - curve.events)
    return (group.name, *map(str, counts), time_words(curve.median), time_words(curve.p90))


def told(group: Group, limit_minutes: float | None) -> str:
    """Answer what a curve says."""
    curve = group.curve
    said = f"{group.name}, {curve.total} counted: median {time_words(curve.median)}"
    if limit_minutes is not None:
        part = percent(1 - curve.survival_at(limit_minutes))
        said += f", {part} within {minutes(limit_minutes)}"
    return f"{said}, nine in ten within {time_words(curve.p90)}"


def time_words(at: float | None) -> str:
    """Answer a time in minutes, or that it was never reached."""
    return NEVER if at is None else minutes(at)
