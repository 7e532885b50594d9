"""The two faces of a ward's board, for the station and for the wall, each row drawn once.

A row is drawn again only when the row itself is another, or the window of the lines has moved.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from typing import Final, NamedTuple

from markupsafe import Markup

from server.pages.rendering import render
from server.pages.row_view import UNASSIGNED, RowView, row_view, wall_row
from server.pages.time_window import Window
from server.services.read_board import BoardRow

SOMEBODY: Final = "n"
"""Stands for any nurse on a wall, where staff ids could give a name away."""


@dataclass(frozen=True, slots=True)
class Face:
    """One way of showing a board: its templates, and what becomes of a row on it."""

    name: str
    page: str
    rows: str
    row: str
    changes: str
    shape: Callable[[RowView], RowView]


class Drawn(NamedTuple):
    """A row as it was drawn, and what it was drawn from."""

    source: BoardRow
    window_start: datetime
    view: RowView
    html: Markup


def nameless(row: RowView) -> RowView:
    """Answer a row for the wall: no names, and no ids that could hold one."""
    key = sha256(row.key.encode()).hexdigest()[:16]
    nurse = UNASSIGNED if row.nurse_key == UNASSIGNED else SOMEBODY
    return replace(wall_row(row), key=f"w{key}", nurse_key=nurse)


def as_it_is(row: RowView) -> RowView:
    """Answer a row for the station."""
    return row


STATION: Final = Face(
    "station",
    "board/board.html",
    "board/rows.html",
    "board/row.html",
    "board/changes.html",
    as_it_is,
)
WALL: Final = Face(
    "wall", "wall/wall.html", "wall/rows.html", "wall/row.html", "wall/changes.html", nameless
)
FACES: Final = (STATION, WALL)


class Sheet:
    """The drawn rows of one ward on one face."""

    def __init__(self, face: Face) -> None:
        self.face: Final = face
        self._drawn: dict[str, Drawn] = {}

    def draw(
        self, rows: Sequence[BoardRow], window: Window, names: Mapping[str, str]
    ) -> list[Drawn]:
        """Answer all rows drawn, in their order; rows that have left are forgotten."""
        drawn = [self._one(row, window, names) for row in rows]
        if len(self._drawn) > len(drawn):
            shown = {_id(row) for row in rows}
            self._drawn = {key: one for key, one in self._drawn.items() if key in shown}
        return drawn

    def forget(self) -> None:
        """Draw everything anew: the names of the staff have changed."""
        self._drawn.clear()

    def _one(self, row: BoardRow, window: Window, names: Mapping[str, str]) -> Drawn:
        kept = self._drawn.get(_id(row))
        if kept is not None and kept.source is row and kept.window_start == window.start:
            return kept
        view = self.face.shape(row_view(row.picture, window, names))
        drawn = Drawn(row, window.start, view, Markup(render(self.face.row, row=view)))  # noqa: S704 - our own template, escaped there
        self._drawn[_id(row)] = drawn
        return drawn


def _id(row: BoardRow) -> str:
    return row.picture.case.request.id
