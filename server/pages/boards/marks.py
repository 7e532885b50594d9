"""Marks: drawn where something will stand that changes more often than what stands around it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import Final

from jinja2 import ChoiceLoader, DictLoader, Environment
from markupsafe import Markup, escape

from server.pages.board_filter import Tally
from server.pages.rendering import environment, render

TALLY: Final = "tally"
TALLY_PART: Final = "board/tally.html"
_MARK: Final = re.compile("\ue000([a-z_]+)\ue001")  # letters that no keyboard has


def mark(name: str) -> str:
    """What stands for a value that is put in later."""
    return f"\ue000{name}\ue001"


@cache
def marked_environment(*holes: tuple[str, str]) -> Environment:
    """The pages' own templates, but for the tally and for `holes`: marks by name of template."""
    marks = {name: mark(hole) for name, hole in (*holes, (TALLY_PART, TALLY))}
    loader = environment().loader
    assert loader is not None  # noqa: S101 - the pages have templates
    return environment().overlay(loader=ChoiceLoader([DictLoader(marks), loader]))


@lru_cache(maxsize=256)
def tally_html(tally: tuple[Tally, ...], spoilt: str) -> Markup:
    """The tally as it is put in, after the beds of units that cannot be worked out."""
    told = {"tally": tally, "spoilt": spoilt}
    return Markup(render(TALLY_PART, board=told))  # noqa: S704 - a template of ours


def cut(drawn: str) -> tuple[str, ...]:
    """The text by turns with the names of what is put in."""
    return tuple(_MARK.split(drawn))


def fill(pieces: Sequence[str], values: Mapping[str, object]) -> Iterator[str]:
    """The text with the values put in, escaped."""
    for place, text in enumerate(pieces):
        yield text if place % 2 == 0 else str(escape(values.get(text, "")))
