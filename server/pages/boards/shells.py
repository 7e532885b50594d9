"""The page around a board, drawn without it: the board itself is put in as bytes.

Of what stands around it only the time, the last check and the revision change by themselves.
They are put in last, so that the rest is drawn once for each reader.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, Final

from jinja2 import ChoiceLoader, DictLoader, Environment
from markupsafe import escape

from server.pages.board_filter import Tally
from server.pages.board_view import BoardView
from server.pages.boards.faces import FACES, Face
from server.pages.page_head import PageHead
from server.pages.rendering import environment

TIMES: Final = ("now_iso", "now_text", "checked_iso", "checked_text")
MARK: Final = re.compile("\ue000([a-z_]+)\ue001")  # letters that no keyboard has
BOARD: Final = "board"


def mark(name: str) -> str:
    """What stands in a shell for something that is put in last."""
    return f"\ue000{name}\ue001"


@dataclass(frozen=True, slots=True)
class Around:
    """All that a page may show of a board outside of the board."""

    ward_name: str
    nurse_name: str
    stream_href: str
    tally: tuple[Tally, ...]
    revision: str = mark("revision")


def shell_around(face: Face, head: PageHead, board: BoardView) -> tuple[bytes, bytes]:
    """Answer what stands before and after the board on its page."""
    shown = {name: getattr(head, name) for name in TIMES}
    marks: dict[str, Any] = {name: mark(name) for name in TIMES if shown[name]}
    marked = replace(head, **marks)
    around = Around(board.ward_name, board.nurse_name, board.stream_href, board.tally)
    pieces = _pieces(face, marked, around)
    values = shown | {"revision": str(board.revision)}
    middle = pieces.index(BOARD, 1)
    return _filled(pieces[:middle], values), _filled(("", *pieces[middle:]), values)


@lru_cache(maxsize=256)
def _pieces(face: Face, head: PageHead, board: Around) -> tuple[str, ...]:
    """The text of a page by turns with the names of what is put in."""
    page = _environment().get_template(face.page).render(head=head, board=board)
    return tuple(MARK.split(page))


def _filled(pieces: tuple[str, ...], values: Mapping[str, str]) -> bytes:
    named = (
        text if place % 2 == 0 else escape(values.get(text, ""))
        for place, text in enumerate(pieces)
    )
    return "".join(named).encode()


@cache
def _environment() -> Environment:
    """The pages' own templates, but for the boards themselves."""
    holes = DictLoader({face.rows: mark(BOARD) for face in FACES})
    loader = environment().loader
    assert loader is not None  # noqa: S101 - the pages have templates
    return environment().overlay(loader=ChoiceLoader([holes, loader]))
