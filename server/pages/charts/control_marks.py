"""What is marked on a control chart: signals by letters and shapes, changes by flags."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.review.signals import WORDS, Rule, Signal
from server.pages.charts.frame import LETTER_WIDTH, cut, letter_of, text_width
from server.pages.charts.scale import Scale

SIDES: Final = {True: "above the centre", False: "below the centre"}
WAYS: Final = {True: "rising", False: "falling"}
LONGEST: Final = 32
"""A longer text of a flag is cut; the list of changes has it whole."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a chart as it is spoken of.

    `label` stands under the axis, `name` in sentences and in the table; `figures` are the numbers
    behind a value ("41 of 45"). `is_small`: too few to judge.
    """

    label: str
    name: str
    figures: str = ""
    is_small: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the ward, from the start of a place on: when it was, and what."""

    place: int
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Flag:
    """A change as it is drawn: its vertical and its text, in the lowest row that has room."""

    x: float
    row: int
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Marked:
    """A signal by its letter: its places, where the letter stands, and its words."""

    letter: str
    places: tuple[int, ...]
    lettered: tuple[int, ...]
    words: str


def mark(signals: Iterable[Signal], places: Sequence[Place]) -> tuple[Marked, ...]:
    """Answer signals with a letter each; single values beyond the same limit share one.

    The letter of a run stands at its last value.
    """
    together: dict[tuple[Rule, bool, int], list[int]] = {}
    for one in signals:
        first = 0 if one.rule is Rule.BEYOND_LIMITS else one.places[0]
        together.setdefault((one.rule, one.is_up, first), []).extend(one.places)
    return tuple(
        Marked(
            letter=letter_of(place),
            places=tuple(found),
            lettered=tuple(found) if rule is Rule.BEYOND_LIMITS else (found[-1],),
            words=_words(rule, found, places, is_up=is_up),
        )
        for place, ((rule, is_up, _), found) in enumerate(together.items())
    )


def letters_at(marked: Iterable[Marked], place: int) -> str:
    """Answer the letters that stand at a place."""
    return "".join(one.letter for one in marked if place in one.lettered)


def shapes(signals: Iterable[Signal], places: Sequence[Place]) -> list[str]:
    """Answer the shape of each place: diamond, square, ring or dot, the weightiest that holds."""
    found = ["ring" if place.is_small else "dot" for place in places]
    for one in sorted(signals, key=lambda one: one.rule is Rule.BEYOND_LIMITS):
        for place in one.places:
            found[place] = "diamond" if one.rule is Rule.BEYOND_LIMITS else "square"
    return found


def flags(changes: Iterable[Change], across: Scale) -> tuple[Flag, ...]:
    """Answer the flags of changes, from left to right, none over another.

    Rows are given out from the right, so that no vertical crosses the text of a later change.
    """
    begins: list[float] = []
    found: list[Flag] = []
    for change in sorted(changes, key=lambda one: one.place, reverse=True):
        x = across.at(change.place - 0.5)
        text, is_before = _beside(x, cut(change.text, LONGEST), across.end)
        width = text_width(text)
        reach = x if is_before else x + width
        row = next((row for row, begin in enumerate(begins) if reach < begin), len(begins))
        begins[row:] = [reach - width - LETTER_WIDTH, *begins[row + 1 :]]
        found.append(Flag(x, row, text, "end" if is_before else "start"))
    return tuple(reversed(found))


def _beside(x: float, text: str, end: float) -> tuple[str, bool]:
    """The text of a flag, and whether it stands before its vertical: where there is more room."""
    before, behind = x - LETTER_WIDTH, end - x - LETTER_WIDTH
    is_before = text_width(text) > behind and before > behind
    return cut(text, int((before if is_before else behind) / LETTER_WIDTH)), is_before


def _words(rule: Rule, found: Sequence[int], places: Sequence[Place], *, is_up: bool) -> str:
    names = [places[place].name for place in found]
    when = ", ".join(names) if rule is Rule.BEYOND_LIMITS else f"{names[0]} to {names[-1]}"
    return f"{when}: {WORDS[rule]}, {(WAYS if rule is Rule.TREND else SIDES)[is_up]}"
