"""One field of a line: what it may be, and the refusal that names it."""

from datetime import UTC, date, datetime

import pytest

from server.domain.errors import Invalid
from server.exchange.csv_fields import day_of, instant_of, number_of, required, text_of

TEN = datetime(2026, 3, 3, 10, tzinfo=UTC)
INSTANT = "expected an instant with an offset such as 2026-01-31T10:00:00Z"


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ("bay 4", "bay 4"),
        ("  bay 4 ", "bay 4"),
        ("", None),
        ("   ", None),
        ("'=1+1", "=1+1"),
        ("'+65", "+65"),
        ("'-5", "-5"),
        ("'@home", "@home"),
        ("=1+1", "=1+1"),
        ("'tis", "'tis"),
        ("'", "'"),
        ("a\nb", "a\nb"),
    ],
)
def test_a_text_is_taken_as_it_stands_without_what_guards_it(
    field: str, expected: str | None
) -> None:
    assert text_of({"bed": field}, "bed") == expected


def test_a_field_without_a_column_is_empty() -> None:
    assert text_of({}, "bed") is None


@pytest.mark.parametrize("mark", ["\x00", "\x07", "\x1b", "\x7f", "\x9f"])
def test_a_control_character_is_refused(mark: str) -> None:
    with pytest.raises(Invalid, match="bed: holds a control character; expected plain text"):
        text_of({"bed": f"4{mark}"}, "bed")


def test_a_required_field_may_not_be_empty() -> None:
    assert required({"bed": "4"}, "bed") == "4"
    with pytest.raises(Invalid, match="bed: is empty; expected a value"):
        required({"bed": " "}, "bed")


@pytest.mark.parametrize(
    ("field", "expected"),
    [("65", 65), ("44.1", 44.1), (".5", 0.5), ("5.", 5), ("+65", 65), ("'-5", -5), ("1e2", 100)],
)
def test_a_number_is_read(field: str, expected: float) -> None:
    assert number_of({"volume_ml": field}, "volume_ml") == expected


@pytest.mark.parametrize(
    "field",
    ["sixty", "1,5", "1 000", "1_000", "0x10", "nan", "inf", "1e999", "٣", "5 mL", "-", "'5"],
)
def test_what_is_no_number_is_refused_by_the_name_of_its_field(field: str) -> None:
    with pytest.raises(Invalid) as refused:
        number_of({"volume_ml": field}, "volume_ml")

    assert str(refused.value) == f"volume_ml: is {field!r}; expected a number"


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ("2026-03-03T10:00:00Z", TEN),
        ("2026-03-03T10:00:00.999Z", TEN),
        ("2026-03-03T11:00:00+01:00", TEN),
        ("2026-03-02T21:00:00-13:00", TEN),
        ("2026-03-03 10:00:00+00:00", TEN),
        ("1900-01-01T00:00:00Z", datetime(1900, 1, 1, tzinfo=UTC)),
        ("2199-12-31T23:59:59Z", datetime(2199, 12, 31, 23, 59, 59, tzinfo=UTC)),
    ],
)
def test_an_instant_is_read_in_utc_to_the_second(field: str, expected: datetime) -> None:
    assert instant_of({"started_at": field}, "started_at") == expected


@pytest.mark.parametrize(
    "field",
    [
        "2026-03-03T10:00:00",
        "2026-03-03",
        "03/03/2026 10:00",
        "2026-02-30T10:00:00Z",
        "2026-03-03T25:00:00Z",
        "10:00",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
        "1899-12-31T23:59:59Z",
        "2200-01-01T00:00:00Z",
        "1772532000",
    ],
)
def test_what_is_no_instant_is_refused_by_the_name_of_its_field(field: str) -> None:
    with pytest.raises(Invalid) as refused:
        instant_of({"started_at": field}, "started_at")

    assert str(refused.value) == f"started_at: is {field!r}; {INSTANT}"


def test_a_day_is_read_and_anything_else_refused() -> None:
    assert day_of({"birth_date": "1950-01-31"}, "birth_date") == date(1950, 1, 31)
    for field in ("31.01.1950", "1950-02-30", "1950", "1950-01-31T00:00:00Z"):
        with pytest.raises(Invalid, match=r"birth_date: is .* expected a day such as 1950-01-31"):
            day_of({"birth_date": field}, "birth_date")


@pytest.mark.parametrize("read", [number_of, instant_of, day_of])
def test_an_empty_field_is_none(read: object) -> None:
    assert callable(read)
    assert read({"field": ""}, "field") is None


def test_a_refusal_quotes_no_more_than_forty_characters() -> None:
    with pytest.raises(Invalid) as refused:
        number_of({"volume_ml": "x" * 100_000}, "volume_ml")

    assert refused.value.message == f"is {'x' * 40!r}; expected a number"
