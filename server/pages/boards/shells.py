"""The page around a board, drawn without it: the board itself is put in as bytes.

Of what stands around it only the time, the last check, the revision and the tally change by
themselves. They are put in last, so that the rest is drawn once for each reader.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from server.pages.board_view import BoardView
from server.pages.boards.faces import FACES, Face
from server.pages.boards.marks import TALLY, cut, fill, mark, marked_environment, tally_html
from server.pages.page_head import PageHead

TIMES: Final = ("now_iso", "now_text", "checked_iso", "checked_text")
BOARD: Final = "board"
_ROWS: Final = tuple((face.rows, BOARD) for face in FACES)


@dataclass(frozen=True, slots=True)
class Around:
    """All that a page may show of a board outside of the board."""

    ward_name: str
    nurse_name: str
    stream_href: str
    revision: str = mark("revision")


def shell_around(face: Face, head: PageHead, board: BoardView) -> tuple[bytes, bytes]:
    """Answer what stands before and after the board on its page."""
    shown = {name: getattr(head, name) for name in TIMES}
    marks: dict[str, Any] = {name: mark(name) for name in TIMES if shown[name]}
    marked = replace(head, **marks)
    around = Around(board.ward_name, board.nurse_name, board.stream_href)
    pieces = _pieces(face, marked, around)
    values = shown | {"revision": board.revision, TALLY: tally_html(board.tally, board.spoilt)}
    middle = pieces.index(BOARD, 1)
    return _filled(pieces[:middle], values), _filled(("", *pieces[middle:]), values)


@lru_cache(maxsize=256)
def _pieces(face: Face, head: PageHead, board: Around) -> tuple[str, ...]:
    """The text of a page by turns with the names of what is put in."""
    page = marked_environment(*_ROWS).get_template(face.page).render(head=head, board=board)
    return cut(page)


def _filled(pieces: tuple[str, ...], values: Mapping[str, object]) -> bytes:
    return "".join(fill(pieces, values)).encode()
