"""Published check value 17: until when a sample counts, as four sources have it.

A sample taken on a Monday at 08:00.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from server.domain.sample import sample_valid_until
from tests.domain.builders import COMMON, request, with_policy

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
EXETER = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("hours", "to_end_of_day", "until"),
    [
        (72, False, datetime(2026, 3, 5, 8, 0, tzinfo=UTC)),
        (7 * 24, False, datetime(2026, 3, 9, 8, 0, tzinfo=UTC)),
        (48, True, datetime(2026, 3, 5, 0, 0, tzinfo=UTC)),
        (72, True, datetime(2026, 3, 6, 0, 0, tzinfo=UTC)),
    ],
    ids=[
        "NZBS sample page: transfused last month, Thursday 08:00",
        "NZBS sample page: neither transfused nor pregnant, next Monday 08:00",
        "Exeter laboratory 2015: to the end of Wednesday",
        "Joint Commission: to the end of Thursday",
    ],
)
def test_17_a_sample_of_monday_eight_in_the_morning(
    *, hours: int, to_end_of_day: bool, until: datetime
) -> None:
    policy = with_policy(sample_valid=timedelta(hours=hours), sample_to_end_of_day=to_end_of_day)

    assert sample_valid_until(request(sample_taken_at=MONDAY), policy, EXETER) == until


def test_17_the_shipped_policy_takes_the_shortest_figure() -> None:
    taken = request(sample_taken_at=MONDAY)

    assert sample_valid_until(taken, COMMON, EXETER) == MONDAY + timedelta(hours=72)


def test_the_end_of_the_day_is_the_wards() -> None:
    """Arithmetic: 08:00 UTC is 21:00 in Auckland, where that Wednesday ends at 11:00 UTC."""
    policy = with_policy(sample_valid=timedelta(hours=48), sample_to_end_of_day=True)
    taken = request(sample_taken_at=MONDAY)

    until = sample_valid_until(taken, policy, ZoneInfo("Pacific/Auckland"))

    assert until == datetime(2026, 3, 4, 11, 0, tzinfo=UTC)


def test_without_a_sample_nothing_runs_out() -> None:
    assert sample_valid_until(request(), COMMON, EXETER) is None
