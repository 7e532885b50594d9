"""The words on the screen: every word of the trade has one, and minutes are those of the wall."""

from datetime import datetime
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import Completed, Issued, Started
from server.domain.picture import Case
from server.domain.wording import (
    ACTION,
    CLOCK,
    COMPONENT,
    LEVEL,
    PHASE,
    ago,
    span,
    until,
    wall_time,
    whole_minutes,
)
from server.domain.words import ClockName, Component, Level, Phase
from tests.domain.builders import FULL, at, case, look

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("labels", "words"),
    [
        (ACTION, ClockName),
        (CLOCK, ClockName),
        (COMPONENT, Component),
        (LEVEL, Level),
        (PHASE, Phase),
    ],
)
def test_every_word_has_one_label_of_its_own(labels: dict[Any, str], words: type[StrEnum]) -> None:
    assert set(labels) == set(words)
    assert all(label.strip() == label != "" for label in labels.values())
    assert labels is ACTION or len(set(labels.values())) == len(labels)


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (0, "0 min"),
        (1, "1 min"),
        (59, "59 min"),
        (60, "1 h 00"),
        (125, "2 h 05"),
        (2879, "47 h 59"),
        (2880, "2 d 0 h"),
        (4620, "3 d 5 h"),
        (-7, "7 min"),
    ],
)
def test_lengths_of_time(minutes: int, text: str) -> None:
    assert span(minutes) == text


@pytest.mark.parametrize(
    ("start", "end", "minutes"),
    [
        (at(0), at(6), 6),
        (at(0, 59), at(1), 1),
        (at(0, 1), at(0, 59), 0),
        (at(6), at(0), -6),
        (at(0), at(0, -1), -1),
    ],
)
def test_minutes_are_counted_between_minutes_of_the_wall_clock(
    start: datetime, end: datetime, minutes: int
) -> None:
    assert whole_minutes(start, end) == minutes


def test_how_long_ago_and_how_long_until() -> None:
    assert [ago(at(0), now) for now in (at(0, 59), at(1), at(125), at(-1))] == [
        "just now",
        "1 min ago",
        "2 h 05 ago",
        "just now",
    ]
    assert [until(at(10), now) for now in (at(0), at(9, 59), at(10), at(11))] == [
        "in 10 min",
        "in 1 min",
        "now",
        "now",
    ]


def test_a_time_half_a_day_away_is_told_with_its_day() -> None:
    far = [at(720, -1), at(720), at(-720, 1), at(-720), at(8640)]

    assert [wall_time(instant, LONDON, at(0)) for instant in far] == [
        "21:59",
        "Tue 22:00",
        "22:00",
        "Mon 22:00",
        "Mon 10:00",
    ]
    assert wall_time(at(8640), LONDON) == "10:00"


def spring_night() -> Case:
    """Issued at 00:30 wall time in London on the night the clocks go from 01:00 to 02:00."""
    issued = datetime.fromisoformat("2026-03-29T00:30:00+00:00")
    return case(
        (issued, Issued()),
        (datetime.fromisoformat("2026-03-29T00:40:00+00:00"), FULL),
        (datetime.fromisoformat("2026-03-29T00:50:00+00:00"), Started(100)),
        zone=LONDON,
    )


def test_a_clock_change_in_the_middle_of_a_unit_moves_only_the_wall_time_shown() -> None:
    """The first check is due 15 elapsed minutes after 00:50, which the wall shows as 02:05."""
    given = spring_night()
    instants = ("00:59:59", "01:00:00", "01:05:00", "01:10:01")
    nows = [datetime.fromisoformat(f"2026-03-29T{instant}+00:00") for instant in instants]

    assert [look(given, now).urgency.reason for now in nows] == [
        "First check due 02:05, in 6 min.",
        "First check due 02:05, in 5 min.",
        "First check due since 02:05, limit 02:10.",
        "First check was due 02:05, limit 02:10 passed just now.",
    ]


def test_volume_and_projected_end_run_through_the_clock_change() -> None:
    found = look(spring_night(), datetime.fromisoformat("2026-03-29T01:50:00+00:00")).infusion

    assert (found.given_ml, wall_time(found.projected_end_at or at(0), LONDON)) == (100.0, "04:38")
    assert found.spare_minutes == 52.0


def test_in_autumn_the_same_wall_time_comes_twice_and_the_unit_still_has_four_hours() -> None:
    issued = datetime.fromisoformat("2026-10-25T00:10:00+00:00")
    ended = datetime.fromisoformat("2026-10-25T04:10:00+00:00")
    given = case((issued, Issued()), (issued, Started(70)), (ended, Completed()), zone=LONDON)
    finish = look(given, ended).clocks[2]

    assert [wall_time(instant, LONDON) for instant in (issued, ended)] == ["01:10", "04:10"]
    assert (finish[0].limit_at, finish[1]) == (ended, "met")
