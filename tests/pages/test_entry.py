"""What was typed into a form: read field by field, every refusal kept beside its field."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from server.pages.forms.entry import MISSING, NO_TIME, Entry, Wrong, instant_values

LONDON = ZoneInfo("Europe/London")


def typed(**values: str) -> Entry:
    return Entry({name: [value] for name, value in values.items()})


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("36.8", 36.8),
        ("36,8", 36.8),
        (" 120 ", 120.0),
        ("0", 0.0),
        ("-1", -1.0),
        ("3.4567", 3.4567),
    ],
)
def test_a_number_has_a_point_or_a_comma(text: str, number: float) -> None:
    assert typed(x=text).number("x") == number


@pytest.mark.parametrize(
    "text", ["1,000", "1.2.3", "36.8 C", "1e3", "nan", "inf", "٣", "0x10", "--1", "1234567890"]
)
def test_what_could_be_read_two_ways_is_refused(text: str) -> None:
    entry = typed(x=text)

    assert entry.number("x") is None
    assert entry.errors == {"x": f"“{text}” is not a number; expected for example 36.8"}


def test_a_field_left_empty_is_refused_where_it_is_needed() -> None:
    entry = typed(a="", b=" ")

    assert [entry.text("a"), entry.text("b", required=True), entry.number("c", required=True)] == [
        None,
        None,
        None,
    ]
    assert entry.errors == {"b": MISSING, "c": MISSING}


@pytest.mark.parametrize("text", ["a\x00b", "a\x1bb", "\x7f"])
def test_a_character_that_cannot_be_kept_is_refused(text: str) -> None:
    entry = typed(x=text)
    entry.text("x")

    assert entry.errors == {"x": "holds a character that cannot be kept"}


def test_lines_and_letters_of_any_language_are_kept() -> None:
    assert typed(x="Łucja\r\nNguyễn 王").text("x") == "Łucja\r\nNguyễn 王"


@pytest.mark.parametrize(("text", "read"), [("12", 12), ("-3", -3)])
def test_a_whole_number(text: str, read: int) -> None:
    assert typed(x=text).whole("x") == read


def test_a_fraction_is_no_whole_number() -> None:
    entry = typed(x="1.5")
    entry.whole("x")

    assert entry.errors == {"x": "“1.5” is not a whole number"}


def test_a_choice_is_one_of_the_choices() -> None:
    entry = typed(x="z")

    assert (entry.choice("x", ["a", "b"]), entry.errors) == (None, {"x": "is none of the choices"})


def test_a_yes_and_a_no_are_said_and_anything_else_is_nothing() -> None:
    entry = typed(a="true", b="false", c="on")

    assert [entry.yes_no(name) for name in "abcd"] == [True, False, None, None]


def test_several_values_come_together_without_blank_ones() -> None:
    entry = Entry({"x": ["rash", "", " fever "]})

    assert (entry.all("x"), entry.raw("x"), "x" in entry) == (("rash", "fever"), " fever ", True)


def test_a_day_and_what_is_none() -> None:
    entry = typed(a="1961-05-04", b="4.5.1961")

    assert (entry.day("a"), entry.day("b")) == (date(1961, 5, 4), None)
    assert entry.errors == {"b": "expected a date, for example 2026-11-25"}


def test_an_instant_is_a_time_and_a_date_of_the_ward() -> None:
    entry = typed(x_date="2026-07-15", x_time="14:20")

    assert entry.instant("x", LONDON) == datetime(2026, 7, 15, 13, 20, tzinfo=UTC)


def test_a_time_without_a_date_is_of_the_day_it_is_read_for() -> None:
    entry = typed(x_date="", x_time="14:20")

    assert entry.instant("x", LONDON, day="2026-01-15") == datetime(2026, 1, 15, 14, 20, tzinfo=UTC)


@pytest.mark.parametrize(
    ("needed", "day", "errors"),
    [("no", "", {}), ("yes", "", {"x": NO_TIME}), ("no", "2026-01-15", {"x": NO_TIME})],
)
def test_a_date_alone_says_no_instant(needed: str, day: str, errors: dict[str, str]) -> None:
    entry = typed(x_date=day, x_time="")

    assert (entry.instant("x", LONDON, required=needed == "yes"), entry.errors) == (None, errors)


def test_the_first_thing_wrong_with_a_field_is_what_is_said() -> None:
    entry = Entry()
    entry.refuse("x", "first")
    entry.refuse("x", "second")

    with pytest.raises(Wrong) as refused:
        entry.check()
    assert (refused.value.errors, refused.value.status) == ({"x": "first"}, 422)


def test_an_instant_fills_a_form_as_it_would_be_typed() -> None:
    twice = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)

    assert instant_values("x", twice, LONDON) == {
        "x_date": ["2026-10-25"],
        "x_time": ["01:30"],
        "x_which": ["second"],
    }
