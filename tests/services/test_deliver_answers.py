"""Receivers that refuse, rest or are silent, and messages that grow stale or old."""

from dataclasses import replace

import pytest

from server.domain.delivery import Answer, DeliveryState
from server.services.deliver import (
    BATCH,
    hand_back,
    message_of,
    note_answer,
)
from server.services.tend_webhook import remove_webhook, resume_webhook
from server.services.tidy import DELIVERIES_KEPT, tidy
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import (
    FAILED,
    REFUSED,
    SECOND,
    SILENT,
    TAKEN,
    answered,
    enter,
    issue_one,
    outbox,
    states,
    stored,
    take,
    try_out,
)
from tests.services.people import ADMINISTRATOR


@pytest.fixture
def issued(charting: Charting) -> Charting:
    return issue_one(charting)


def test_one_who_refuses_five_times_in_a_row_is_turned_off(charting: Charting) -> None:
    store = charting.store
    enter(store)
    now = at(0)
    for answer in (REFUSED, REFUSED, FAILED, TAKEN, *[REFUSED] * 5):
        if answer is not FAILED:
            try_out(store)
        tried: list[str] = []
        while not tried:
            tried = answered(store, now, answer)
            now += SECOND

    off = stored(store)
    assert (off.refusals, off.off_at is not None, off.off_why) == (
        5,
        True,
        "it refused 5 times in a row, at last with HTTP 404",
    )
    assert take(store, 20) == ()
    with store.write() as session:
        resume_webhook(session, ADMINISTRATOR, "pager", now=at(20))
    assert len(take(store, 20)[0].letters) > 0


def test_one_who_is_gone_is_turned_off_at_once(charting: Charting) -> None:
    enter(charting.store)
    try_out(charting.store)

    answered(charting.store, 0, Answer(410))

    off = stored(charting.store)
    assert (off.off_at, off.off_why) == (at(0), "it answered that it is gone for good (HTTP 410)")
    assert states(charting.store, 0) == [("waiting", 1, "HTTP 410")]


@pytest.mark.parametrize(
    ("answer", "seconds"),
    [(Answer(429, retry_after="60"), 60), (Answer(503, retry_after="60"), 60), (SILENT, 5)],
    ids=["too many", "unavailable", "no answer"],
)
def test_one_who_asks_for_rest_or_is_silent_is_left_alone(
    charting: Charting, answer: Answer, seconds: int
) -> None:
    store = charting.store
    enter(store)
    try_out(store)
    answered(store, 0, answer)
    try_out(store)

    early = take(store, at(0) + (seconds - 1) * SECOND)
    late = take(store, at(0) + seconds * SECOND)

    assert (early, len(late)) == ((), 1)


@ON_BOTH_ENGINES
def test_what_nobody_took_in_time_is_given_up_and_counted(issued: Charting) -> None:
    store = issued.store
    issued.tick(20)
    count = len(issued.reminders())
    answered(store, 20, SILENT)

    before = take(store, at(50) - SECOND, "early")
    hand_back(store, replace(before[0], leased_by="early"))
    after = take(store, at(50))

    assert len(before[0].letters) == count
    assert after == ()
    assert outbox(store, 50).counts == {DeliveryState.STALE: count}


def test_an_answer_that_comes_after_the_webhook_or_message_went_is_lost(
    charting: Charting,
) -> None:
    store = charting.store
    enter(store)
    try_out(store)
    (post,) = take(store, 0)
    with store.write() as session:
        remove_webhook(session, ADMINISTRATOR, "pager", now=at(0))
    before = charting.everything()

    note_answer(store, post, post.letters[0], TAKEN, now=at(1))

    assert charting.everything() == before


def test_a_batch_is_bounded_and_the_oldest_come_first(charting: Charting) -> None:
    store = charting.store
    enter(store)
    trials = [try_out(store, minute) for minute in (1, 0)]
    for _ in range(BATCH):
        try_out(store, 2)

    (post,) = take(store, 2)

    ids = [one.delivery.id for one in post.letters]
    assert (len(ids), ids[:2]) == (BATCH, list(reversed(trials)))


def test_the_longest_texts_make_a_short_message(charting: Charting) -> None:
    longest = "“" * 200
    enter(charting.store)
    charting.open(bed=longest)
    charting.issue()
    charting.tick(20)

    bodies = [
        message_of(post.webhook, one, now=at(20)).body
        for post in take(charting.store, 20)
        for one in post.letters
    ]

    assert max(map(len, bodies)) < 4_096


@ON_BOTH_ENGINES
def test_old_messages_go_but_not_those_that_wait(charting: Charting) -> None:
    store = charting.store
    enter(store)
    try_out(store)
    answered(store, 0, TAKEN)
    try_out(store)
    counts = []
    for now in (at(0) + DELIVERIES_KEPT, at(0) + DELIVERIES_KEPT + SECOND):
        with store.write() as session:
            tidy(session, now=now)
        counts.append(sorted(state for state, _, _ in states(store, 0)))

    assert counts == [["delivered", "waiting"], ["waiting"]]
