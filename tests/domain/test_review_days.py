"""From which part of a period on a change of a ward tells: by the greater part of its days."""

from datetime import date, timedelta

import pytest

from server.domain.review.days import Days, begins_with

MONDAY = date(2026, 3, 2)
WEEKS = tuple(
    Days(MONDAY + timedelta(weeks=n), MONDAY + timedelta(weeks=n, days=6)) for n in range(3)
)
CUT = (*WEEKS[:2], Days(date(2026, 3, 16), date(2026, 3, 17)))


@pytest.mark.parametrize(
    ("parts", "day", "place"),
    [
        (WEEKS, date(2026, 3, 9), 1),  # Monday: the whole week
        (WEEKS, date(2026, 3, 12), 1),  # Thursday: four days of seven
        (WEEKS, date(2026, 3, 13), 2),  # Friday: three of seven
        (WEEKS, date(2026, 3, 15), 2),  # Sunday: one
        (WEEKS, date(2026, 3, 2), 0),
        (WEEKS, date(2026, 3, 22), 3),  # the last day of all: no part tells of it yet
        (CUT, date(2026, 3, 17), 2),  # one of the two days that a last week has: half
        ([Days(MONDAY, MONDAY)], MONDAY, 0),  # a day is its own part
        ([Days(date(2026, 1, 1), date(2026, 1, 31))], date(2026, 1, 16), 0),  # 16 days of 31
        ([Days(date(2026, 1, 1), date(2026, 1, 31))], date(2026, 1, 17), 1),  # 15 days of 31
    ],
)
def test_a_change_tells_from_the_part_on_that_lies_mostly_after_it(
    parts: list[Days], day: date, place: int
) -> None:
    assert begins_with(parts, day) == place
