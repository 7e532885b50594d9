"""One token that asks too often is told when to come back; nobody else notices."""

from pathlib import Path

import pytest

from server.api.pace import BURST_SECONDS, MOST_KEPT, Pace, TooFast
from tests.api.board_api import problem_of
from tests.api.conftest import opened_api


def passed(pace: Pace, token: str, at: float, times: int) -> int:
    """How many of so many requests at one instant pass."""
    count = 0
    for _ in range(times):
        try:
            pace.take(token, at)
        except TooFast:
            return count
        count += 1
    return count


def test_five_seconds_worth_passes_at_once_and_then_as_much_as_fills_again() -> None:
    pace = Pace(10)

    at_once = passed(pace, "a", 0.0, 100)
    with pytest.raises(TooFast) as refused:
        pace.take("a", 0.0)

    assert at_once == 10 * BURST_SECONDS
    assert refused.value.seconds == pytest.approx(0.1)
    assert passed(pace, "b", 0.0, 100) == 50
    assert [passed(pace, "a", at, 100) for at in (0.25, 1.25, 100.0)] == [2, 10, 50]


def test_nothing_is_counted_where_there_is_no_limit_and_little_is_kept() -> None:
    none, pace = Pace(0), Pace(1)

    for number in range(MOST_KEPT + 10):
        pace.take(f"{number}", 0.0)

    assert passed(none, "a", 0.0, 10_000) == 10_000
    assert len(pace._buckets) == MOST_KEPT


def test_a_token_that_asks_too_often_gets_429_and_another_is_answered(
    sqlite_template: Path, tmp_path: Path
) -> None:
    with opened_api(sqlite_template, tmp_path, api_per_second=1) as api:
        answers = [api.get("/api/wards") for _ in range(10)]
        other = api.get("/api/wards", "manager")

    statuses = [answer.status_code for answer in answers]
    assert statuses[:5] == [200] * 5
    assert statuses[-1] == 429
    refused = answers[-1]
    assert problem_of(refused)["type"] == "urn:fourth-hour:problem:too-fast"
    assert refused.headers["retry-after"] == "1"
    assert other.status_code == 200
