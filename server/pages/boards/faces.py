"""The two faces of a ward's board, for the station and for the wall, each row drawn once.

A row is drawn again only when the row itself is another, or the window of the lines has moved.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from typing import Final, NamedTuple

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
    view: RowView
    html: bytes


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
        # By the row's identity: what was drawn holds on to its row, so that no other can have it.
        self._drawn: dict[int, Drawn] = {}
        self._window_start: datetime | None = None

    def undrawn(self, rows: Iterable[BoardRow]) -> list[BoardRow]:
        """Answer the rows that are not drawn yet."""
        return [row for row in rows if id(row) not in self._drawn]

    def draw(
        self, rows: Sequence[BoardRow], window: Window, names: Mapping[str, str]
    ) -> list[Drawn]:
        """Answer all rows drawn, in their order; rows that have left are forgotten."""
        if window.start != self._window_start:
            self.forget()
        before, self._window_start = self._drawn, window.start
        ids = list(map(id, rows))
        drawn = [
            before.get(row_id) or self._one(row, window, names)
            for row_id, row in zip(ids, rows, strict=True)
        ]
        self._drawn = dict(zip(ids, drawn, strict=True))
        return drawn

    def forget(self) -> None:
        """Draw everything anew: the names of the staff have changed."""
        self._drawn = {}

    def _one(self, row: BoardRow, window: Window, names: Mapping[str, str]) -> Drawn:
        view = self.face.shape(row_view(row.picture, window, names))
        return Drawn(row, view, render(self.face.row, row=view).encode())
