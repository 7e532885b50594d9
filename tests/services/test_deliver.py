"""The outbox: written with the reminder, sent by one process until it is taken."""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import pairwise
from threading import Barrier

import pytest

from server.domain.delivery import DeliveryState
from server.domain.payloads import Acknowledged, Voided
from server.domain.words import ClockName, Stage
from server.services.deliver import (
    LEASE,
    hand_back,
    message_of,
    note_answer,
)
from server.services.list_deliveries import send_trial
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import (
    FAILED,
    SECOND,
    TAKEN,
    answered,
    contents,
    enter,
    issue_one,
    outbox,
    pager,
    states,
    take,
    try_out,
)
from tests.services.people import ADMINISTRATOR, W2


@pytest.fixture
def issued(charting: Charting) -> Charting:
    return issue_one(charting)


@ON_BOTH_ENGINES
def test_a_reminder_and_its_messages_are_stored_together(issued: Charting) -> None:
    store = issued.store
    enter(store, pager(id="due", name="Due", stages=frozenset({Stage.DUE})))
    enter(store, pager(id="far", name="Far", wards=W2))
    enter(store, pager(id="all", name="All", wards=None))

    issued.tick(20)
    issued.tick(20)
    issued.tick(30)

    told = {one.id: (one.stage, one.clock) for one in issued.reminders()}
    sent = {
        webhook_id: [
            told[one.told.id]
            for one in outbox(store, 30, webhook_id=webhook_id).letters
            if one.told is not None
        ]
        for webhook_id in ("pager", "due", "far", "all")
    }
    assert sorted(sent["pager"]) == sorted(sent["all"]) == sorted(told.values())
    assert sorted(sent["due"]) == sorted(one for one in told.values() if one[0] is Stage.DUE)
    assert sent["far"] == []
    assert len(told) == 4


@ON_BOTH_ENGINES
def test_a_message_says_all_but_who_the_patient_is(issued: Charting) -> None:
    issued.tick(20)
    start = next(one for one in issued.reminders() if one.clock is ClockName.START)

    posts = take(issued.store, 20)

    said = [one for one in contents(posts, 20) if one["data"]["clock"] == "start"]
    assert said == [
        {
            "type": "reminder.notice",
            "timestamp": "2026-03-03T10:20:00Z",
            "data": {
                "reminder_id": start.id,
                "episode_id": "e1",
                "ward_id": "w1",
                "ward": "Ward 1",
                "bed": "4",
                "clock": "start",
                "n": 1,
                "stage": "notice",
                "repeat": 0,
                "to": start.to,
                "owed_at": "2026-03-03T10:20:00Z",
                "raised_at": "2026-03-03T10:20:00Z",
                "due_at": "2026-03-03T10:30:00Z",
                "limit_at": "2026-03-03T10:30:00Z",
                "state": "open",
                "acknowledged_at": None,
                "acknowledged_by": None,
                "text": "Bed 4: start, due 10:30",
            },
        }
    ]
    sent = b"".join(message_of(p.webhook, one, now=at(20)).body for p in posts for one in p.letters)
    patient = issued.everything()["patient"][0]
    hidden = [value for value in patient if isinstance(value, str) and len(value) > 1]
    assert {"Alder", "Ida", "T000001", "p1"} <= set(hidden)
    assert [value for value in hidden if value.encode() in sent] == []


def test_a_message_shows_what_has_become_of_it_meanwhile(issued: Charting) -> None:
    issued.open("e2", "p2")
    wrong = issued.issue("e2").event_id
    issued.tick(20)

    def said(when: int, episode_id: str = "e1") -> list[tuple[str, str]]:
        posts = take(issued.store, when, f"at {when}")
        for post in posts:
            hand_back(issued.store, post)
        told = [one["data"] for one in contents(posts, when)]
        start = (episode_id, "start", "notice")
        return [
            (one["state"], one["text"])
            for one in told
            if (one["episode_id"], one["clock"], one["stage"]) == start
        ]

    issued.record(21, Acknowledged(ClockName.START, "nurse-1"))
    held = said(21)
    issued.start(minute=25)
    issued.record(26, Voided(wrong, "wrong unit"), "e2")

    assert held == [("open", "Bed 4: start, due 10:30; somebody has it")]
    assert said(27) == [("met", "Bed 4: start, due 10:30; done since")]
    assert said(28, "e2") == [("withdrawn", "Bed 4: start; withdrawn by a correction")]


def test_a_trial_tells_of_no_unit(issued: Charting) -> None:
    trial = try_out(issued.store)

    (post,) = take(issued.store, 0)

    message = message_of(post.webhook, post.letters[0], now=at(0))
    assert json.loads(message.body) == {
        "type": "trial",
        "timestamp": "2026-03-03T10:00:00Z",
        "data": {
            "ward_id": "w1",
            "ward": "Ward 1",
            "text": "A trial message of Ward 1. It tells of no unit.",
        },
    }
    assert (message.address, message.headers["webhook-id"]) == ("https://pager.example/in", trial)


@ON_BOTH_ENGINES
def test_what_fails_is_tried_again_later_and_later_until_it_is_taken(charting: Charting) -> None:
    store = charting.store
    enter(store)
    trial = try_out(store)

    tried_at: list[int] = []
    for second in range(60):
        now = at(0) + second * SECOND
        if answered(store, now, FAILED if len(tried_at) < 3 else TAKEN):
            tried_at.append(second)

    gaps = [after - before for before, after in pairwise(tried_at)]
    assert len(gaps) == 3
    assert [least <= gap <= 2 * least for gap, least in zip(gaps, (2, 4, 8), strict=True)] == [
        True
    ] * 3
    (letter,) = outbox(store, 1).letters
    assert letter.delivery == replace(
        letter.delivery,
        id=trial,
        state=DeliveryState.DELIVERED,
        tries=4,
        answer="HTTP 204",
        ended_at=at(0) + tried_at[-1] * SECOND,
    )
    assert outbox(store, 1).counts == {DeliveryState.DELIVERED: 1}


@ON_BOTH_ENGINES
def test_of_two_processes_one_sends(charting: Charting) -> None:
    store = charting.store
    for name in ("pager", "other"):
        enter(store, pager(id=name, name=name))
    for webhook_id in ("pager", "other"):
        with store.write() as session:
            send_trial(session, ADMINISTRATOR, webhook_id, "w1", now=at(0))
    second, begin = Store(store.address), Barrier(2)

    def look(process: Store, name: str) -> list[str]:
        begin.wait()
        return [post.webhook.id for post in take(process, 0, name)]

    with ThreadPoolExecutor(2) as pool:
        taken = list(pool.map(look, (store, second), ("one", "two")))
    second.close()

    assert sorted(taken[0] + taken[1]) == ["other", "pager"]


@ON_BOTH_ENGINES
def test_who_dies_with_a_message_gives_it_back_by_time_alone(charting: Charting) -> None:
    store = charting.store
    enter(store)
    trial = try_out(store)
    (post,) = take(store, 0, "the dead")

    before = take(store, at(0) + LEASE - SECOND)
    after = take(store, at(0) + LEASE, "the living")
    hand_back(store, post)  # too late: it is somebody else's now

    assert (before, after[0].letters[0].delivery.id) == ((), trial)
    assert take(store, at(0) + LEASE) == ()
    # It had been sent after all, and is noted by whoever sent it.
    note_answer(store, post, post.letters[0], TAKEN, now=at(0) + LEASE)
    note_answer(store, after[0], post.letters[0], FAILED, now=at(0) + LEASE)
    assert states(store, 1) == [("delivered", 1, "HTTP 204")]
