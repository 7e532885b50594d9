"""Somebody who has a ward's board, its reminders and their own list open, and what they saw.

They hear of changes as the streams do, from the source of the feed, and look at the same boards
in memory that the streams are drawn from.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from server.domain.clock import Clock
from server.domain.words import ClockState
from server.services.actor import Actor
from server.services.list_due import DueItem, list_due
from server.services.list_mine import Mine, MyUnit, list_mine
from server.services.list_reminders import Key, furthest_stages, list_reminders
from server.services.live_board import LiveBoards
from server.services.read_board import Board, BoardRow
from server.services.read_changes import Changes
from server.services.replay_list import replay_list
from server.services.replay_ward import LOOK_BACK, Replay
from server.store.reminders import RaisedReminder
from server.store.sessions import ReadSession
from server.store.store import Store


@dataclass(frozen=True)
class Heard:
    """What stood on the screens at an instant: the board, what had been said, a nurse's list."""

    board: Board
    said: dict[Key, Any]
    mine: dict[str, Any]


class Listener:
    """A nurse on one ward, listening from now on."""

    def __init__(self, store: Store, ward_id: str, nurse: Actor) -> None:
        self.heard: dict[datetime, Heard] = {}
        self.changes = 0
        self._store, self._ward_id, self._nurse = store, ward_id, nurse
        self._boards, self._source = LiveBoards(store), Changes(store)
        self._revision = self._source.pulse().revisions[ward_id]
        store.on_commit(self._boards.hear)

    def follow(self, now: datetime) -> None:
        """Bring the board up to date if the stream told of a change."""
        news = self._source.news(self._ward_id, self._revision)
        if news.revision != self._revision:
            self._revision = news.revision
            self.changes += 1
            self._boards.board(self._ward_id, now)

    def note(self, now: datetime) -> None:
        """Keep what every screen shows at a tick."""
        self.follow(now)
        board = self._boards.board(self._ward_id, now)
        with self._store.read() as session:
            mine = list_mine(session, self._nurse, now=now)
            self.heard[now] = Heard(board, self._said(session, now), listed(mine))

    def _said(self, session: ReadSession, now: datetime) -> dict[Key, Any]:
        since = now - LOOK_BACK
        raised = list_reminders(session, self._nurse, self._ward_id, since=since)
        owed = list_due(session, self._nurse, self._ward_id, now=now)
        furthest = furthest_stages(raised)
        return {
            key: _item(item, furthest[key]) for item in owed if (key := _key_of(item)) in furthest
        }


def shown_by(session: ReadSession, replay: Replay, nurse_id: str) -> Heard:
    """What a replay shows of the same screens, as it was known then."""
    mine, _ = replay_list(session, replay, nurse_id)
    return Heard(replay.then.board, said_then(replay), listed(mine))


def said_then(replay: Replay) -> dict[Key, Any]:
    """What had been said, as it was known then."""
    return {_key_of(one.item): _item(one.item, one.reminder) for one in replay.then.said}


def seen(heard: Heard, by: Heard) -> dict[str, Any]:
    """All of it; of a row that `by` was looked at earlier in the minute, all but its seconds."""
    looked_at = {row.picture.case.request.id: row.picture.standing.now for row in by.board.rows}
    return {
        "at": heard.board.at,
        "counts": heard.board.counts,
        "rows": [
            row if looked_at.get(row.picture.case.request.id) == by.board.at else _lasting(row)
            for row in heard.board.rows
        ],
        "said": heard.said,
        "mine": heard.mine,
    }


def _lasting(row: BoardRow) -> dict[str, Any]:
    """What a second changes is counted on by the page itself: the flow, and words of minutes."""
    picture = row.picture
    flow = picture.infusion
    return {
        "case": picture.case,
        "episode": picture.episode,
        "clocks": picture.clocks,
        "level": picture.urgency.level,
        "since": picture.urgency.since_at,
        "flow": (flow.rate_ml_h, flow.since_at, flow.permitted_rate_ml_h, flow.cannot_finish),
        "nurse": row.nurse_name,
    }


def listed(mine: Mine) -> dict[str, Any]:
    """A list by what it says: each unit with whose it is and what calls, and who covers whom."""
    return {
        "units": [_unit(one) for one in mine.units],
        "called": [_unit(one) for one in mine.called],
        "covers": mine.covers,
        "covered_on": mine.covered_on,
        "names": mine.names,
    }


def _unit(one: MyUnit) -> tuple[Any, ...]:
    return (one.picture.case.request.id, one.covering_for, [call.id for call in one.calls])


def _item(item: DueItem, said: RaisedReminder) -> tuple[Clock, ClockState, Any, str | None]:
    told = replace(said, acknowledged_at=None, acknowledged_by=None)
    return (item.clock, item.state, told, item.acknowledged_by)


def _key_of(one: DueItem) -> Key:
    return (one.picture.case.request.id, one.clock.name, one.clock.n)
