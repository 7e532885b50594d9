"""What a published definition of a reaction is, and what it can say of a record.

Definitions classify afterwards. They are strict on purpose, need findings that a ward does not
chart, and are never what a nurse acts on: at the bedside the prompts ask (`prompts.py`).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from server.domain.news2 import tenths
from server.domain.payloads import Observed


class Verdict(StrEnum):
    """What the record says of a definition."""

    MET = "met"
    CANNOT_SAY = "cannot be said from what is charted"
    NOT_MET = "not met"


class Reaction(StrEnum):
    """The reactions that are defined."""

    FEBRILE = "febrile"
    ALLERGIC = "allergic"
    HYPOTENSIVE = "hypotensive"
    OVERLOAD = "circulatory overload (TACO)"
    LUNG_INJURY = "acute lung injury (TRALI)"
    DYSPNOEA = "dyspnoea (TAD)"
    HAEMOLYTIC = "acute haemolytic"


@dataclass(frozen=True, slots=True)
class Charted:
    """What is charted at one instant after the start.

    `hours_after_end` is 0 while the unit was given. `signs` are the words of `reaction_signs.py`;
    `later` is None where only signs were charted. `baseline` holds the values of before the start
    by field.
    """

    baseline: Mapping[str, Any]
    later: Observed | None
    hours_after_end: float = 0.0
    age_years: int | None = None
    weight_kg: float | None = None
    signs: frozenset[str] = frozenset()

    def before(self, field: str) -> float | None:
        """The value of a sign before the start."""
        value: float | None = self.baseline.get(field)
        return value

    def now(self, field: str) -> float | None:
        """The value of a sign at this instant."""
        value: float | None = getattr(self.later, field, None)
        return value

    @property
    def rise_tenths(self) -> int | None:
        """The rise of the temperature in tenths of a degree Celsius."""
        before, now = self.before("temperature_c"), self.now("temperature_c")
        return None if before is None or now is None else tenths(now) - tenths(before)

    def drop(self, field: str) -> float | None:
        """By how much a pressure has fallen, in mmHg."""
        before, now = self.before(field), self.now(field)
        return None if before is None or now is None else before - now


@dataclass(frozen=True, slots=True)
class Finding:
    """What a definition says of one instant: the verdict, its grade where it has one, and why."""

    verdict: Verdict
    why: str
    grade: str = ""


def met(why: str, grade: str = "") -> Finding:
    """It is met on what is charted."""
    return Finding(Verdict.MET, why, grade)


def not_met(why: str) -> Finding:
    """It is not met on what is charted."""
    return Finding(Verdict.NOT_MET, why)


def cannot_say(why: str) -> Finding:
    """What is charted does not suffice."""
    return Finding(Verdict.CANNOT_SAY, why)


Judge = Callable[[Charted], Finding | None]
"""Judges one instant inside the window; None: nothing that it looks at was charted then."""


@dataclass(frozen=True, slots=True)
class Definition:
    """One published definition. `window_hours` is counted from the end of the unit.

    `lacks` says what it also asks for and no ward charts; `grades` are from mild to severe.
    """

    key: str
    publisher: str
    reaction: Reaction
    window_hours: float
    source: str
    judge: Judge
    grades: tuple[str, ...] = ()
    lacks: str = ""

    def look(self, charted: Charted) -> Finding | None:
        """Judge one instant; outside the window it is not met."""
        found = self.judge(charted)
        if found is None or charted.hours_after_end <= self.window_hours:
            return found
        return not_met(f"{charted.hours_after_end:.1f} h after the end, after its window")


OTHER_CAUSES: Final = "that no other cause explains it"
