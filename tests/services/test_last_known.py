"""A board counted on by what was known: right at every later instant if nothing was recorded."""

from datetime import timedelta

import pytest

from server.domain.payloads import Completed, FateRecorded, Paused
from server.domain.words import Fate
from server.services.last_known import count_on
from server.services.live_board import LiveBoards
from server.store.errors import Away
from server.store.store import Store
from tests.databases import PostgresServer, closed
from tests.domain.builders import at
from tests.services.charting import Charting


def chart(charting: Charting) -> None:
    """`e1` of `p1` running, `e2` of `p2` given, `e3` of `p1` waiting."""
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    charting.record(60, Completed(), "e2")
    charting.record(61, FateRecorded(Fate.TRANSFUSED), "e2")
    charting.open("e3", "p1")
    charting.tick(62)


def test_a_board_counts_on_as_it_would_be_read_then(ward: Charting) -> None:
    boards = LiveBoards(ward.store)
    assert boards.last("w1") is None

    known = boards.board("w1", at(62))

    assert boards.last("w1") is known
    for minute in (62, 90, 241, 1_499, 1_500):
        assert count_on(known, at(minute)) == ward.board(minute), minute
    # What is only watched for late signs leaves the board when its watch is over.
    gone = at(60) + timedelta(hours=24)
    left = [row.picture.case.request.id for row in count_on(known, gone).rows]
    assert "e2" in [row.picture.case.request.id for row in known.rows]
    assert left == ["e1", "e3"]


@pytest.mark.parametrize("address", ["postgresql"], indirect=True)
def test_a_look_that_fails_leaves_what_was_known(
    store: Store, charting: Charting, postgres: PostgresServer
) -> None:
    """The database itself is closed to everybody, in the middle of its work."""
    chart(charting)
    boards = LiveBoards(store)
    known = boards.board("w1", at(62))
    charting.record(63, Paused(), "e1")

    with closed(postgres, store.address), pytest.raises(Away):
        boards.board("w1", at(63))
    lost = boards.last("w1")
    back = boards.board("w1", at(63))

    assert lost is known
    assert back == charting.board(63)
