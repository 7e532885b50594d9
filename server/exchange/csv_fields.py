"""Reading the fields of one line of a CSV file, each refused by its name."""

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from typing import Final, TypeVar

from server.domain.errors import Invalid

FORMULA_STARTS: Final = ("=", "+", "-", "@")
Value = TypeVar("Value")


def text_of(row: Mapping[str, str | None], field: str) -> str | None:
    """Answer a field, None if it is empty; the apostrophe that guards a formula is taken off."""
    text = (row.get(field) or "").strip()
    if text.startswith("'") and text[1:2] in FORMULA_STARTS:
        text = text[1:]
    return text or None


def required(row: Mapping[str, str | None], field: str) -> str:
    """Answer a field that has to be there. Raises `Invalid`."""
    text = text_of(row, field)
    if text is None:
        raise Invalid(field, "is empty; expected a value")
    return text


def number_of(row: Mapping[str, str | None], field: str) -> float | None:
    """Answer a number, None if the field is empty. Raises `Invalid`."""
    return _read(row, field, _number, "a number")


def instant_of(row: Mapping[str, str | None], field: str) -> datetime | None:
    """Answer an instant in UTC to the second, None if the field is empty. Raises `Invalid`."""
    expected = "an instant with an offset such as 2026-01-31T10:00:00Z"
    return _read(row, field, _instant, expected)


def day_of(row: Mapping[str, str | None], field: str) -> date | None:
    """Answer a day, None if the field is empty. Raises `Invalid`."""
    return _read(row, field, date.fromisoformat, "a day such as 1950-01-31")


def _read(
    row: Mapping[str, str | None], field: str, read: Callable[[str], Value], expected: str
) -> Value | None:
    text = text_of(row, field)
    if text is None:
        return None
    try:
        return read(text)
    except ValueError:
        raise Invalid(field, f"is {text[:40]!r}; expected {expected}") from None


def _number(text: str) -> float:
    number = float(text)
    if number != number or number in (float("inf"), float("-inf")):  # noqa: PLR0124 - NaN
        raise ValueError(text)
    return number


def _instant(text: str) -> datetime:
    instant = datetime.fromisoformat(text)
    if instant.utcoffset() is None:
        raise ValueError(text)
    return instant.astimezone(UTC).replace(microsecond=0)
