"""Wards as they were last known: what is shown while the database is away."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from server.pages.boards.ward_board import Rows, Wanted, WardBoard
from server.services.last_known import count_on
from server.services.live_board import LiveBoards
from server.services.read_board import Board
from server.store.errors import Away

SECONDS: Final = 15  # how often a board is drawn again while nothing new can be learnt
MOST: Final = 512
FAR: Final = timedelta(hours=12)
WORDS: Final = (
    "The database is away. This is the board as it was known at {}. "
    "Nothing can be recorded; write on paper."
)


class NothingKnown(Away):
    """The database is away, and this process never read the ward."""

    def __init__(self) -> None:
        super().__init__("nothing is known here of this ward")


@dataclass(frozen=True, slots=True)
class Known:
    """A ward as it is known: everything recorded by `known_at` is in it.

    `away`: the database cannot be asked for more.
    """

    board: Board
    known_at: datetime
    away: bool = False


class LastKnown:
    """The last known boards of a process. `ward_of` answers how a ward is drawn."""

    def __init__(self, feed: Any, live: LiveBoards, ward_of: Callable[[str], WardBoard]) -> None:
        self._feed = feed
        self._live = live
        self._ward_of = ward_of
        self._drawn: dict[Wanted, tuple[object, Rows]] = {}

    def ward(self, ward_id: str, now: datetime) -> Known:
        """A ward at `now`, read, or counted on if the database is away; called in a thread.

        Raises `NotFound` for an unknown ward, `NothingKnown`.
        """
        if not self._feed.away:
            with suppress(Away):
                return Known(self._live.board(ward_id, now), now)
        last = self._last(ward_id)
        return Known(count_on(last, now), self._known_at(last), away=True)

    def rows(self, wanted: Wanted, now: datetime) -> Rows:
        """A board drawn as it is last known, counted on; called in a thread.

        Raises `NothingKnown`.
        """
        last = self._last(wanted.ward_id)
        moment = last.revision, now.replace(second=now.second // SECONDS * SECONDS)
        drawn = self._drawn.get(wanted)
        if drawn is None or drawn[0] != moment:
            board = self._ward_of(wanted.ward_id)
            drawn = moment, board.last_known(wanted, count_on(last, now))
        if len(self._drawn) >= MOST:
            self._drawn.clear()
        self._drawn[wanted] = drawn
        return drawn[1]

    def words(self, ward_id: str, now: datetime) -> str:
        """What a page of the ward says while the database is away, empty while it is there."""
        last = self._live.last(ward_id) if self._feed.away else None
        return "" if last is None else self._say(last, now)

    def said(self, ward_id: str, now: datetime) -> tuple[Board, str]:
        """The board that is known, and what its page says. Raises `NothingKnown`."""
        last = self._last(ward_id)
        return last, self._say(last, now)

    def freshen(self, ward_id: str, now: datetime, age: timedelta) -> bool:
        """Read a ward whose board is not known or older than `age`; whether that was needed."""
        last = self._live.last(ward_id)
        if last is not None and now - last.at < age:
            return False
        self._live.board(ward_id, now)
        return True

    def _last(self, ward_id: str) -> Board:
        last = self._live.last(ward_id)
        if last is None:
            raise NothingKnown
        return last

    def _known_at(self, last: Board) -> datetime:
        """A quiet ward is known up to when the revisions of all wards were read last."""
        reached = self._feed.reached_at or last.at
        is_newest = last.revision >= self._feed.pulse.revisions.get(last.ward.id, 0)
        return max(last.at, reached) if is_newest else last.at

    def _say(self, last: Board, now: datetime) -> str:
        known_at = self._known_at(last)
        local = known_at.astimezone(ZoneInfo(last.ward.timezone))
        day = f" on {local:%a} {local.day} {local:%b}" if now - known_at >= FAR else ""
        return WORDS.format(f"{local:%H:%M:%S}{day}")
