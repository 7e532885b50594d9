"""Ward time as people type it: one place turns it into UTC, and clock changes are told."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from server.domain.events import Event
from server.domain.payloads import Note
from server.domain.words import Kind
from server.pages.forms.ward_time import (
    TypedTime,
    WardTimeError,
    instant_of,
    read_clock,
    typed_time,
    with_choices,
    within_minute,
)

LONDON = ZoneInfo("Europe/London")
AUCKLAND = ZoneInfo("Pacific/Auckland")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "clock"),
    [("14:20", "14:20:00"), ("1420", "14:20:00"), ("14.20", "14:20:00"), ("9:05", "09:05:00"),
     ("00:00", "00:00:00"), ("23:59:58", "23:59:58"), (" 14:20 ", "14:20:00")],
)  # fmt: skip
def test_a_time_is_read_as_people_type_it(typed: str, clock: str) -> None:
    assert read_clock(typed).isoformat() == clock


@pytest.mark.parametrize(
    "typed", ["", "24:00", "14:60", "142", "2 pm", "14:20 Uhr", "-1:00", "٣:٠٠"]
)
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(WardTimeError, match="expected a time from 00:00 to 23:59"):
        read_clock(typed)


@pytest.mark.parametrize("day", ["", "25.11.2026", "2026-02-30", "tomorrow"])
def test_what_is_no_date_is_refused(day: str) -> None:
    with pytest.raises(WardTimeError, match="expected a date, for example 2026-11-25"):
        instant_of(TypedTime(day, "14:20"), LONDON)


@pytest.mark.parametrize(
    ("zone", "day", "clock", "instant"),
    [
        (LONDON, "2026-01-15", "14:20", "2026-01-15T14:20:00"),
        (LONDON, "2026-07-15", "14:20", "2026-07-15T13:20:00"),
        (AUCKLAND, "2026-01-15", "00:10", "2026-01-14T11:10:00"),
    ],
)
def test_a_ward_time_is_an_instant(zone: ZoneInfo, day: str, clock: str, instant: str) -> None:
    assert instant_of(TypedTime(day, clock), zone) == utc(instant)


def test_a_time_that_the_clocks_skip_is_refused_with_the_reason() -> None:
    with pytest.raises(WardTimeError, match="01:30 does not exist that night"):
        instant_of(TypedTime("2026-03-29", "01:30"), LONDON)


@pytest.mark.parametrize(("clock", "instant"), [("00:59", "2026-03-29T00:59:00"),
                                                ("02:00", "2026-03-29T01:00:00")])  # fmt: skip
def test_the_minutes_around_a_skipped_hour_are_plain(clock: str, instant: str) -> None:
    assert instant_of(TypedTime("2026-03-29", clock), LONDON) == utc(instant)


def test_a_time_that_comes_twice_is_refused_until_somebody_says_which() -> None:
    with pytest.raises(WardTimeError, match="comes twice: say which is meant"):
        instant_of(TypedTime("2026-10-25", "01:30"), LONDON)


@pytest.mark.parametrize(("which", "instant"), [("first", "2026-10-25T00:30:00"),
                                                ("second", "2026-10-25T01:30:00")])  # fmt: skip
def test_a_time_that_comes_twice_is_told_apart(which: str, instant: str) -> None:
    assert instant_of(TypedTime("2026-10-25", "01:30", which), LONDON) == utc(instant)


def test_the_choice_names_both_by_their_zone() -> None:
    shown = with_choices(TypedTime("2026-10-25", "01:30"), LONDON)

    assert shown.choices == (("first", "the first, 01:30 BST"), ("second", "the second, 01:30 GMT"))


def test_a_change_of_half_an_hour_has_its_own_double_half_hour() -> None:
    twice = with_choices(TypedTime("2026-04-05", "01:45"), LORD_HOWE)
    once = with_choices(TypedTime("2026-04-05", "02:00"), LORD_HOWE)

    assert (len(twice.choices), once.choices) == (2, ())


@pytest.mark.parametrize("instant", ["2026-10-25T00:30:00", "2026-10-25T01:30:00",
                                     "2026-03-29T01:00:00", "2026-07-01T12:00:00"])  # fmt: skip
def test_what_a_form_shows_is_what_it_reads(instant: str) -> None:
    assert instant_of(typed_time(utc(instant), LONDON), LONDON) == utc(instant)


def test_the_present_minute_means_now() -> None:
    now = utc("2026-03-03T14:20:45")

    assert within_minute(utc("2026-03-03T14:20:00"), now, ()) == now


def test_another_minute_means_its_beginning() -> None:
    minute = utc("2026-03-03T14:19:00")

    assert within_minute(minute, utc("2026-03-03T14:20:00"), ()) == minute


def test_a_minute_in_which_something_happened_comes_after_it() -> None:
    before = utc("2026-03-03T14:19:40")
    event = Event("e1", Kind.NOTE, before, before, Note("x"), "nurse-1", 1)

    assert within_minute(utc("2026-03-03T14:19:00"), utc("2026-03-03T15:00:00"), (event,)) == before
