"""What an answer of a receiver means, how long to wait, and what a reminder says."""

from datetime import UTC, datetime, timedelta

import pytest

from server.domain.delivery import (
    LONGEST_REST,
    Answer,
    Outcome,
    outcome_of,
    rest_asked,
    wait_after,
)
from server.domain.reminder_words import reminder_text, since_then
from server.domain.words import ClockName, ClockState, Stage
from tests.domain.builders import at

NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


def test_only_a_status_of_success_is_a_message_taken() -> None:
    meant: dict[Outcome, list[int | None]] = {
        Outcome.TAKEN: [200, 201, 202, 204, 299],
        Outcome.FAILED: [None, 100, 408, 425, 429, 500, 502, 503, 504, 599, 999],
        Outcome.REFUSED: [300, 301, 302, 307, 308, 400, 401, 403, 404, 409, 411, 422, 499],
        Outcome.GONE: [410],
    }

    for outcome, statuses in meant.items():
        assert [outcome_of(Answer(status)) for status in statuses] == [outcome] * len(statuses)


def test_an_answer_is_told_in_a_few_words() -> None:
    assert [Answer(503).words, Answer(None, "no connection").words] == ["HTTP 503", "no connection"]


def test_each_wait_lies_in_the_later_half_of_twice_the_one_before() -> None:
    """Exponential backoff with jitter; common practice, no source for the figures."""
    bounds = [(2, 4), (4, 8), (8, 16), (16, 32), (32, 64), (64, 128), (64, 128)]

    for tries, (least, most) in enumerate(bounds, start=1):
        waits = {wait_after(tries, f"message {number}") for number in range(400)}
        assert timedelta(seconds=least) <= min(waits) <= max(waits) <= timedelta(seconds=most)
        assert len(waits) == most - least + 1, "every whole second comes up"


def test_the_same_message_waits_the_same_and_never_overflows() -> None:
    assert wait_after(3, "m1") == wait_after(3, "m1")
    assert wait_after(10**6, "m1") <= timedelta(seconds=128)


@pytest.mark.parametrize(
    ("said", "rest"),
    [
        ("0", timedelta(0)),
        ("90", timedelta(seconds=90)),
        (" 90 ", timedelta(seconds=90)),
        ("3600", LONGEST_REST),
        ("9" * 4_000, LONGEST_REST),
        ("Tue, 03 Mar 2026 12:02:00 GMT", timedelta(minutes=2)),
        ("Tue, 03 Mar 2026 11:02:00 GMT", timedelta(0)),
        ("Wed, 03 Mar 2027 12:02:00 GMT", LONGEST_REST),
        ("Tue, 03 Mar 2026 12:02:00 -0000", None),
        ("-1", None),
        ("1.5", None),
        ("٩", None),
        ("soon", None),
        ("", None),
        (None, None),
    ],
)
def test_a_receiver_is_left_alone_as_long_as_it_asks_within_an_hour(
    said: str | None, rest: timedelta | None
) -> None:
    assert rest_asked(Answer(503, retry_after=said), NOON) == rest


@pytest.mark.parametrize(
    ("stage", "times", "text"),
    [
        (Stage.NOTICE, (at(20), at(25)), "Bed 4: first check, due 10:20"),
        (Stage.DUE, (at(20), at(25)), "Bed 4: first check, due 10:20"),
        (Stage.OVERDUE, (at(20), at(25)), "Bed 4: first check, due 10:20, limit 10:25 passed"),
        (Stage.ESCALATE, (at(20), at(20)), "Bed 4: first check, due 10:20, limit passed"),
        (Stage.SECOND_ESCALATE, (None, None), "Bed 4: first check, limit passed"),
        (Stage.DUE, (at(20 - 24 * 60), None), "Bed 4: first check, due Mon 2 Mar 10:20"),
    ],
)
def test_a_reminder_is_said_in_a_sentence(
    stage: Stage, times: tuple[datetime | None, datetime | None], text: str
) -> None:
    assert reminder_text("4", ClockName.FIRST_CHECK, stage, times, UTC, at(30)) == text


def test_what_has_become_of_it_meanwhile_is_said() -> None:
    owed = {ClockState.PENDING, ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE}
    over = {
        ClockState.MET: "done since",
        ClockState.MET_LATE: "done since",
        ClockState.MISSED: "too late to be done",
        ClockState.LAPSED: "no longer owed",
        None: "withdrawn by a correction",
    }

    for had in (True, False):
        said = {state: since_then(state, acknowledged=had) for state in (*ClockState, None)}
        assert said == over | dict.fromkeys(owed, "somebody has it" if had else "")
