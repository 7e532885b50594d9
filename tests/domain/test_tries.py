"""Waits grow with each failure, have an end, and are forgotten."""

from datetime import timedelta

import pytest

from server.domain.tries import (
    ELSEWHERE,
    FORGOTTEN_AFTER,
    ON_ONE_DEVICE,
    Patience,
    Tries,
    after_failure,
    waits_until,
)
from tests.domain.builders import at

SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("failed", "seconds"),
    [(4, None), (5, 30), (6, 60), (7, 120), (8, 240), (9, 480), (10, 900), (11, 900), (999, 900)],
)
def test_a_wait_doubles_up_to_the_longest(failed: int, seconds: int | None) -> None:
    expected = None if seconds is None else at(0) + timedelta(seconds=seconds)

    assert waits_until(Tries(failed, at(0)), ON_ONE_DEVICE) == expected


def test_who_has_not_failed_does_not_wait() -> None:
    assert waits_until(None, ON_ONE_DEVICE) is None


def test_failures_add_up_until_a_day_without_one() -> None:
    once = after_failure(None, at(0))
    twice = after_failure(once, at(0) + FORGOTTEN_AFTER - SECOND)
    anew = after_failure(twice, twice.last_at + FORGOTTEN_AFTER)

    assert once == Tries(1, at(0))
    assert twice == Tries(2, at(0) + FORGOTTEN_AFTER - SECOND)
    assert anew == Tries(1, twice.last_at + FORGOTTEN_AFTER)


@pytest.mark.parametrize("patience", [ON_ONE_DEVICE, ELSEWHERE])
def test_a_hundred_failures_take_most_of_a_day(patience: Patience) -> None:
    """NIST SP 800-63B: at most 100 failures in a row on one account (from memory)."""
    now, tries = at(0), None
    for _ in range(100):
        now = waits_until(tries, patience) or now
        tries = after_failure(tries, now)

    assert now - at(0) > timedelta(hours=20)
