"""One ward's board in memory: what is on it, and the bytes that show it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from server.domain.policy import Policy
from server.pages.board_view import BoardView, Place, board_view, is_night
from server.pages.boards.faces import FACES, Drawn, Face, Sheet
from server.pages.boards.frames import CLOSED, OPEN, framed
from server.pages.rendering import render
from server.pages.time_window import window_at
from server.services.actor import SYSTEM
from server.services.enter_staff import list_staff
from server.services.enter_ward import read_ward_policy
from server.services.live_board import LiveBoards
from server.services.read_board import Board, BoardRow
from server.store.wards import Ward


@dataclass(frozen=True, slots=True)
class Addresses:
    """Where a board is, where its stream is, and where it is fetched anew."""

    page: str
    stream: str
    refresh: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which board: the ward, the face, whose rows, and the addresses that are written into it."""

    ward_id: str
    face: Face
    nurse_id: str | None
    where: Addresses


@dataclass(frozen=True, slots=True)
class Rows:
    """The element of the board in pieces ready to be sent, and the view it was drawn from."""

    view: BoardView
    pieces: tuple[bytes, ...]

    @property
    def html(self) -> bytes:
        """The element as a whole."""
        return b"".join(self.pieces)


class WardBoard:
    """The board of one ward, drawn for both faces. Not for two threads at once."""

    def __init__(self, ward_id: str, boards: LiveBoards, store: Any) -> None:
        self._ward_id = ward_id
        self._boards = boards
        self._store = store
        self._sheets = {face.name: Sheet(face) for face in FACES}
        self._names: dict[str, str] = {}
        self._policy: Policy | None = None
        self._read_at: tuple[Ward, datetime] | None = None

    def rows(self, face: Face, where: Addresses, nurse_id: str | None, now: datetime) -> Rows:
        """Answer the board as it is at `now`. Raises `NotFound` for an unknown ward."""
        return self._rows(face, where, nurse_id, self._board(face, now))

    def last_known(self, wanted: Wanted, board: Board) -> Rows:
        """Answer a board that cannot be read just now, under the names that are known here.

        Drawn apart: whoever draws this one may wait for the database.
        """
        apart = WardBoard(self._ward_id, self._boards, self._store)
        apart._names, apart._policy = _names_of(board) | self._names, self._policy
        return apart._rows(wanted.face, wanted.where, wanted.nurse_id, board)

    def _rows(self, face: Face, where: Addresses, nurse_id: str | None, board: Board) -> Rows:
        drawn = self._draw(face, board)
        view = self._view(board, where, nurse_id, drawn)
        key = view.nurse_key
        shown = [one for one in drawn if one.view.nurse_key == key] if key else drawn
        rows = {
            OPEN: [one.html for one in shown if not one.view.closed],
            CLOSED: [one.html for one in shown if one.view.closed],
        }
        return Rows(view, framed(face.rows, view, rows))

    def changes(self, face: Face, now: datetime, episode_ids: frozenset[str] | None) -> str:
        """Answer what to put in place on open boards; None: every row."""
        board = self._board(face, now)
        drawn = self._draw(face, board)
        view = self._view(board, Addresses("", "", ""), None, drawn)
        changed = [
            one.view
            for one in drawn
            if episode_ids is None or one.source.picture.case.request.id in episode_ids
        ]
        return render(face.changes, board=view, changed=changed)

    def _board(self, face: Face, now: datetime) -> Board:
        """Names and policy are read again each minute, and when rows come with other names."""
        board = self._boards.board(self._ward_id, now)
        new = self._sheets[face.name].undrawn(board.rows)
        if self._is_old(board, now) or not all(map(self._is_named, new)):
            self._read_surroundings(board, now)
        return board

    def _is_old(self, board: Board, now: datetime) -> bool:
        if self._read_at is None:
            return True
        ward, at = self._read_at
        settings = (ward.name, ward.timezone) != (board.ward.name, board.ward.timezone)
        return settings or at != now.replace(second=0)

    def _is_named(self, row: BoardRow) -> bool:
        nurse_id = row.picture.episode.nurse_id
        known = nurse_id in self._names and row.nurse_name in (None, self._names[nurse_id])
        return nurse_id is None or known

    def _read_surroundings(self, board: Board, now: datetime) -> None:
        with self._store.read() as session:
            names = {one.id: one.name for one in list_staff(session, SYSTEM, self._ward_id)}
            self._policy = read_ward_policy(session, self._ward_id, now=now)
        names = _names_of(board) | names
        if names != self._names:
            for sheet in self._sheets.values():
                sheet.forget()
        self._names, self._read_at = names, (board.ward, now.replace(second=0))

    def _draw(self, face: Face, board: Board) -> list[Drawn]:
        return self._sheets[face.name].draw(board.rows, window_at(board.at), self._names)

    def _view(
        self, board: Board, where: Addresses, nurse_id: str | None, drawn: list[Drawn]
    ) -> BoardView:
        zone = ZoneInfo(board.ward.timezone)
        place = Place(
            ward_name=board.ward.name,
            zone=zone,
            revision=board.revision,
            night=self._policy is not None and is_night(board.at, zone, self._policy),
            href=where.page,
            stream_href=where.stream,
            refresh_href=where.refresh,
            spoilt=tuple(one.bed for one in board.spoilt),
        )
        return board_view([one.view for one in drawn], place, board.at, self._names, nurse_id)


def _names_of(board: Board) -> dict[str, str]:
    """The nurses of the units by id; one whose name is not known goes by the id."""
    known = {row.picture.episode.nurse_id: row.nurse_name for row in board.rows}
    return {i: name or i for i, name in known.items() if i is not None}
