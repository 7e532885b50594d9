"""The board of now, kept in memory and brought up to date by what changed.

A board that nobody has changed costs one look at the ward's row a second. A row is worked out
again when its facts change, when its next change has come, and once a minute, because a minute
is the smallest step its words show. Rows that are as they were stay the same objects.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from threading import Lock
from typing import Any, Final

from server.services.errors import NotFound
from server.services.live_rows import LiveRow, LiveRows
from server.services.plain_facts import with_plain
from server.services.read_board import Board, board_of
from server.services.sound_cases import or_none, sound_cases
from server.store.board import Moved, live_episode_ids, moved_since, next_changes
from server.store.log import Logged, last_position, ward_events_after
from server.store.policies import InForce, policies_of_wards
from server.store.sessions import Change, ReadSession
from server.store.staff import staff_names
from server.store.store import Store
from server.store.wards import Ward, read_ward

PUT_BACK: Final = timedelta(minutes=1)
"""So far back no two looks at once lie apart: the clock was set."""


class LiveBoard:
    """One ward's board of now. Not for replays: those read the facts as they were."""

    def __init__(self, ward_id: str) -> None:
        self.ward_id = ward_id
        self._rows = LiveRows()
        self._ward: Ward | None = None
        self._periods: tuple[InForce, ...] = ()
        self._position = 0
        self._names: dict[str, str] | None = None
        self._board: Board | None = None
        self._changed = True
        self.last: Board | None = None
        """The board as it was last answered; a look that failed leaves it as it is."""

    def mark_changed(self) -> None:
        """Something was committed: look before answering again."""
        self._changed = True

    def board(self, store: Store, now: datetime) -> Board:
        """Answer the board at `now`; the same object while nothing at all is different.

        Raises `NotFound` for an unknown ward.
        """
        board = self._board
        if board is not None and board.at == now and not self._changed:
            return board
        self._changed = False
        try:
            with store.read() as session:
                self._board = self._bring_up_to_date(session, now)
        except BaseException:
            self._changed, self._ward = True, None  # half brought up to date: load it afresh
            raise
        self.last = self._board
        return self._board

    def _bring_up_to_date(self, session: ReadSession, now: datetime) -> Board:
        ward = read_ward(session, self.ward_id)
        if ward is None:
            raise NotFound("the ward")
        known = None if self._is_outdated(now) else self._ward
        if known is None or not self._catch_up(session, known, ward, now):
            self._load(session, ward, now)
        self._ward = ward
        return self._make(session, ward, now)

    def _is_outdated(self, now: datetime) -> bool:
        """Whether what had left may stand on it again, or what was spoilt may be mended by now."""
        board = self._board
        if board is None or now < board.at - PUT_BACK:
            return board is not None
        return bool(board.spoilt) and now.replace(second=0) > board.at

    def _catch_up(self, session: ReadSession, before: Ward, ward: Ward, now: datetime) -> bool:
        """Apply what changed since; False where only a fresh load will do."""
        if ward.revision == before.revision:
            return True
        moved = moved_since(session, self.ward_id, before.revision)
        if not moved or ward.revision < before.revision:
            return False  # the ward itself changed: its name, its zone, its policy, its staff
        if ward.revision == before.revision + 1:
            logged = self._logged(session)
            if logged is None:
                return False
            self._position = max([self._position, *(one.event.position for one in logged)])
            moved_otherwise = [one for one in moved if not self._apply(one, logged)]
        elif self._is_set_otherwise(session, before, ward):
            return False
        else:
            self._position, self._names = last_position(session), None
            moved_otherwise = list(moved)
        self._reload(session, moved_otherwise, now)
        return True

    def _logged(self, session: ReadSession) -> Sequence[Logged] | None:
        """The facts since the last look, None where one of them cannot be read."""
        return or_none(partial(ward_events_after, session, self.ward_id, self._position))

    def _is_set_otherwise(self, session: ReadSession, before: Ward, ward: Ward) -> bool:
        """Whether the ward itself changed in one of several commits."""
        same = replace(before, revision=ward.revision, checked_at=ward.checked_at)
        return same != ward or self._periods != _periods(session, ward)

    def _apply(self, moved: Moved, logged: Iterable[Logged]) -> bool:
        """Add plain new facts to the unit they were recorded on; False if that is not all.

        What changed without a fact of its own, such as the patient, has to be read.
        """
        row = self._rows.get(moved.episode_id)
        if row is None:
            return False
        patient_id = row.case.request.patient_id
        told = [one.event for one in logged if one.patient_id == patient_id]
        if not told or told[-1].position != moved.revision:
            return False
        case = with_plain(row.case, told)
        if case is not None:
            self._rows.put(LiveRow(case, moved.next_change_at))
        return case is not None

    def _reload(self, session: ReadSession, moved: Iterable[Moved], now: datetime) -> None:
        following = {one.episode_id: one.next_change_at for one in moved}
        if not following:
            return
        found = sound_cases(session, following, now=now)
        for episode_id, case in found.cases.items():
            self._rows.put(LiveRow(case, following[episode_id]))
        self._rows.spoil(found.spoilt)

    def _load(self, session: ReadSession, ward: Ward, now: datetime) -> None:
        self._position = last_position(session)
        self._periods, self._names, self._board = _periods(session, ward), None, None
        ids = live_episode_ids(session, self.ward_id, now)
        following = next_changes(session, ids)
        found = sound_cases(session, ids, now=now)
        self._rows = LiveRows(LiveRow(case, following.get(i)) for i, case in found.cases.items())
        self._rows.spoil(found.spoilt)

    def _make(self, session: ReadSession, ward: Ward, now: datetime) -> Board:
        looked, before = self._rows.look(now), self._board
        spoilt = tuple(self._rows.spoilt.values())
        if before is not None and not looked and spoilt == before.spoilt:
            return _at(before, ward, now)
        self._rows.show(looked, self._named(session, looked))
        in_order = self._rows.in_order
        board = board_of(ward, tuple(in_order.rows), in_order.levels, at=now)
        return replace(board, spoilt=spoilt) if spoilt else board

    def _named(self, session: ReadSession, looked: Iterable[LiveRow]) -> dict[str, str]:
        """The nurses' names, read where they may have changed or a nurse is new."""
        nurses = {row.picture.episode.nurse_id for row in looked if row.picture is not None}
        if self._names is None or not nurses <= {None, *self._names}:
            self._names = staff_names(session, self._rows.nurses())
        return self._names


class LiveBoards:
    """The boards of all wards. Register `hear` with the store before the first board is asked."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._boards: dict[str, LiveBoard] = {}
        self._locks: dict[str, Lock] = {}
        self._lock = Lock()

    def hear(self, changes: Iterable[Change]) -> None:
        """Take note of a commit of this process; others are found within the second."""
        for change in changes:
            board = self._boards.get(change.ward_id)
            if board is not None:
                board.mark_changed()

    def last(self, ward_id: str) -> Board | None:
        """The board of a ward as it was last answered, None if it never was; asks nothing."""
        board = self._boards.get(ward_id)
        return None if board is None else board.last

    def board(self, ward_id: str, now: datetime) -> Board:
        """Answer a ward's board at `now`. Raises `NotFound`."""
        with self._lock:
            board = self._boards.setdefault(ward_id, LiveBoard(ward_id))
            lock = self._locks.setdefault(ward_id, Lock())
        with lock:
            try:
                return board.board(self._store, now)
            except NotFound:
                self._boards.pop(ward_id, None)
                self._locks.pop(ward_id, None)
                raise


def _periods(session: ReadSession, ward: Ward) -> tuple[InForce, ...]:
    return policies_of_wards(session, [ward.id])[ward.id]


def _at(board: Board, ward: Ward, now: datetime) -> Board:
    same: dict[str, Any] = {"at": now, "ward": ward, "checked_at": ward.checked_at}
    return replace(board, revision=ward.revision, **same)
