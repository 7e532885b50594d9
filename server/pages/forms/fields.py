"""What a field of a form is: its name, its words, its shape and its unit."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

Options = tuple[tuple[str, str], ...]


class Shape(StrEnum):
    """How a field is shown and read."""

    TEXT = "text"
    LONG_TEXT = "long_text"
    MASKED = "masked"
    NUMBER = "number"
    WHOLE = "whole"
    DAY = "day"
    INSTANT = "instant"
    CHOICE = "choice"
    PICK = "pick"
    ANY_OF = "any_of"
    TICK = "tick"
    YES_NO = "yes_no"


@dataclass(frozen=True, slots=True)
class Field:
    """One field. `PICK` is a choice shown as buttons, `ANY_OF` any number of ticks.

    `options` are (value, words). `given` names the list that the page supplies instead: staff,
    owed clocks, breaches. `before` names the previous value to show beside the field. `make`
    turns the chosen text into a value of the trade. A `bare` field does not
    say that it is optional. `scan` names what of a label fills the field. `most` is the
    highest possible number: a longer one cannot follow.
    """

    name: str
    label: str
    shape: Shape = Shape.TEXT
    unit: str = ""
    hint: str = ""
    required: bool = False
    options: Options = ()
    given: str = ""
    before: str = ""
    empty: str = ""
    make: Callable[[str], Any] = str
    only_if: str = ""
    bare: bool = False
    scan: str = ""
    most: float | None = None


YES_NO: Options = (("true", "yes"), ("false", "no"))
