"""The element of a board without its rows, drawn once for as long as only its rows change."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any, Final

from server.pages.board_view import BoardView
from server.pages.boards.marks import TALLY, cut, fill, mark, marked_environment, tally_html

OPEN: Final = "open"
CLOSED: Final = "closed"
# What moves by itself, or whenever a row changes.
_MOVING: Final = ("revision", "order", "closed_order", "now_x", "now_text")
_MARKS: Final[dict[str, Any]] = {name: mark(name) for name in _MOVING}
_HOLES: Final = {name: mark(name) for name in (OPEN, CLOSED)}


def framed(
    template: str, view: BoardView, drawn: Mapping[str, Iterable[bytes]]
) -> tuple[bytes, ...]:
    """Answer the element in pieces: around `drawn`, the rows by `OPEN` and `CLOSED`."""
    values = {name: getattr(view, name) for name in _MOVING}
    values[TALLY] = tally_html(view.tally, view.spoilt)
    pieces: list[bytes] = []
    for place, text in enumerate(_frame(template, _still(view))):
        if place % 2 and text in drawn:
            pieces += drawn[text]
        else:
            pieces.append("".join(fill(("", text) if place % 2 else (text,), values)).encode())
    return tuple(pieces)


def _still(view: BoardView) -> BoardView:
    """Of the rows a frame shows only whether there are any, and how many are closed."""
    counted: dict[str, Any] = {
        "rows": view.rows[:1] and (None,),
        "closed_rows": (None,) * len(view.closed_rows),
        "tally": (),
    }
    return replace(view, **_MARKS, **counted)


@lru_cache(maxsize=256)
def _frame(template: str, board: BoardView) -> tuple[str, ...]:
    drawn = marked_environment().get_template(template).render(board=board, drawn=_HOLES)
    return cut(drawn)
