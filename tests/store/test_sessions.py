"""What a session shows, stores and tells."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import pytest
from sqlalchemy import insert, text
from sqlalchemy.exc import DBAPIError

from server.store.errors import Away, Clash
from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.sessions import Change, ReadSession, WriteSession
from server.store.states import save_states
from server.store.store import Store
from server.store.tables import HEARTBEAT
from server.store.wards import Ward, read_ward, ward_revision
from tests.domain.builders import at
from tests.store.facts import a_state

BEAT = Beat("tick", at(0))
Answer = TypeVar("Answer")


@pytest.fixture
def heard(store: Store) -> list[tuple[Change, ...]]:
    """What listeners are told of commits."""
    heard: list[tuple[Change, ...]] = []
    store.on_commit(heard.append)
    return heard


def test_a_read_session_has_nothing_to_write_with() -> None:
    writing = {"add", "delete", "execute", "flush", "merge", "run", "touch", "commit"}

    assert writing & set(dir(ReadSession)) == set()


def test_the_database_refuses_a_write_on_a_read_session(store: Store) -> None:
    with pytest.raises((DBAPIError, Away)), store.read() as session:
        session._connection.execute(insert(HEARTBEAT), {"name": "tick", "at": at(0)})

    with store.read() as session:
        assert last_beat(session, "tick") is None


def test_a_read_session_sees_one_moment(store: Store) -> None:
    with store.read() as session:
        before = last_beat(session, "tick")
        with store.write() as other:
            keep_beat(other, BEAT)
        meanwhile = last_beat(session, "tick")

    with store.read() as session:
        after = last_beat(session, "tick")

    assert (before, meanwhile, after) == (None, None, BEAT)


def test_a_write_session_reads_what_it_wrote(store: Store) -> None:
    with store.write() as session:
        keep_beat(session, BEAT)

        assert last_beat(session, "tick") == BEAT


def test_a_commit_tells_the_new_revision_and_the_episodes(
    store: Store, ward: Ward, heard: list[tuple[Change, ...]]
) -> None:
    with store.write() as session:
        session.touch(ward.id, ["e1"])
        session.touch(ward.id, ["e2", "e1"])

    assert heard == [(Change("w1", 1, frozenset({"e1", "e2"})),)]


def test_a_commit_stamps_the_touched_episodes_in_whatever_order(store: Store, ward: Ward) -> None:
    with store.write() as session:
        save_states(session, [a_state("e1"), a_state("e2")])
        session.touch(ward.id)
    with store.write() as session:
        session.touch(ward.id, ["e2"])
        save_states(session, [a_state("e2", revision=2)])

    with store.read() as session:
        stamps = session.rows(text("SELECT episode_id, change_revision FROM episode_state"))

    assert sorted(tuple(row) for row in stamps) == [("e1", 0), ("e2", 2)]


def test_an_error_stores_nothing_and_tells_nobody(
    store: Store, ward: Ward, heard: list[tuple[Change, ...]]
) -> None:
    def fail() -> None:
        with store.write() as session:
            session.touch(ward.id, ["e1"])
            keep_beat(session, BEAT)
            _ = 1 / 0

    with pytest.raises(ZeroDivisionError):
        fail()

    with store.read() as session:
        stored = (last_beat(session, "tick"), ward_revision(session, ward.id))
    assert (stored, heard) == ((None, 0), [])


def test_a_commit_that_touched_no_ward_tells_nobody(
    store: Store, heard: list[tuple[Change, ...]]
) -> None:
    with store.write() as session:
        keep_beat(session, BEAT)

    assert heard == []


def test_a_listener_that_fails_undoes_nothing_and_silences_no_other(
    store: Store, ward: Ward, caplog: pytest.LogCaptureFixture
) -> None:
    heard: list[tuple[Change, ...]] = []
    store.on_commit(lambda _: 1 / 0)  # type: ignore[arg-type]
    store.on_commit(heard.append)

    with store.write() as session:
        session.touch(ward.id)

    told = [record.message for record in caplog.records]
    assert (store.ward_revision("w1"), len(heard), len(told)) == (1, 1, 1)


def test_a_ward_that_does_not_exist_cannot_be_touched(store: Store) -> None:
    with pytest.raises(Clash, match="no ward w9"), store.write() as session:
        session.touch("w9")


def test_a_clash_can_be_caught_where_it_happens(store: Store) -> None:
    with store.write() as session:
        keep_beat(session, BEAT)

    with pytest.raises(Clash), store.write() as session:
        _insert_twice_and_catch(session)


def _insert_twice_and_catch(session: WriteSession) -> None:
    with pytest.raises(Clash, match="heartbeat"):
        session.run(insert(HEARTBEAT), {"name": "tick", "at": at(1)})
    raise Clash("as it happened")


def test_a_session_may_change_threads(store: Store, ward: Ward) -> None:
    opened = store.write()
    _in_a_thread(opened.__enter__).touch(ward.id)
    _in_a_thread(lambda: opened.__exit__(None, None, None))

    with store.read() as session:
        entered = read_ward(session, ward.id)
    assert entered is not None
    assert entered.revision == 1


def test_revisions_are_seen_without_a_session(store: Store, ward: Ward) -> None:
    before = store.ward_revision(ward.id)
    with store.write() as session:
        session.touch(ward.id)
        meanwhile = store.ward_revision(ward.id)

    assert (before, meanwhile, store.ward_revision(ward.id)) == (0, 0, 1)
    assert store.ward_revision("w9") is None


def _in_a_thread(act: Callable[[], Answer]) -> Answer:
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(act).result()
