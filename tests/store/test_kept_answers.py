"""Answers already given, signs of life, and new identities."""

from dataclasses import replace

import pytest

from server.store.errors import Clash
from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.idempotency import Answer, find_answer, forget_answers, keep_answer
from server.store.ids import new_id
from server.store.store import Store
from tests.domain.builders import at

FIRST = Answer("t1", "key", "POST /api/orders", "abc", 201, {"id": "o1", "n": [1, None]}, at(0))
OTHER_ACTOR = replace(FIRST, actor="t2", response=None, recorded_at=at(10))


@pytest.fixture(autouse=True)
def _answers(store: Store) -> None:
    with store.write() as session:
        keep_answer(session, FIRST)
        keep_answer(session, OTHER_ACTOR)


def test_an_answer_belongs_to_its_actor_and_key(store: Store) -> None:
    asked = [("t1", "key"), ("t2", "key"), ("t1", "other"), ("t3", "key")]

    with store.read() as session:
        assert [find_answer(session, *one) for one in asked] == [FIRST, OTHER_ACTOR, None, None]


def test_a_key_is_answered_once(store: Store) -> None:
    with pytest.raises(Clash), store.write() as session:
        keep_answer(session, replace(FIRST, status=500))

    with store.read() as session:
        assert find_answer(session, "t1", "key") == FIRST


def test_old_answers_are_forgotten(store: Store) -> None:
    with store.write() as session:
        forgotten = forget_answers(session, at(10))

    with store.read() as session:
        left = [find_answer(session, actor, "key") for actor in ("t1", "t2")]
    assert (forgotten, left) == (1, [None, OTHER_ACTOR])


def test_the_last_beat_is_kept(store: Store) -> None:
    with store.write() as session:
        keep_beat(session, Beat("tick", at(0), "3 episodes"))
        keep_beat(session, Beat("tick", at(1)))
        keep_beat(session, Beat("delivery", at(0)))

    with store.read() as session:
        beats = [last_beat(session, name) for name in ("tick", "delivery", "backup")]
    assert beats == [Beat("tick", at(1)), Beat("delivery", at(0)), None]


def test_identities_are_short_and_never_the_same() -> None:
    made = {new_id() for _ in range(1000)}

    assert (len(made), {len(identity) for identity in made}) == (1000, {16})
