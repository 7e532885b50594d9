"""Reading the fields of one line of a CSV file, each refused by its name."""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from typing import Final, TypeVar

from server.domain.errors import Invalid

FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
YEARS: Final = range(1900, 2200)  # wide enough for any record, too narrow for a slip
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,2})?", re.ASCII)
_UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
Value = TypeVar("Value")


def text_of(row: Mapping[str, str], field: str) -> str | None:
    """Answer a field, None if it is empty; the apostrophe that guards a formula is taken off.

    Raises `Invalid` for control characters, which no database keeps alike.
    """
    text = row.get(field, "").strip()
    if _UNPRINTABLE.search(text):
        raise Invalid(field, "holds a control character; expected plain text")
    if text.startswith("'") and text[1:2] in FORMULA_STARTS:
        text = text[1:]
    return text or None


def required(row: Mapping[str, str], field: str) -> str:
    """Answer a field that has to be there. Raises `Invalid`."""
    text = text_of(row, field)
    if text is None:
        raise Invalid(field, "is empty; expected a value")
    return text


def number_of(row: Mapping[str, str], field: str) -> float | None:
    """Answer a number, None if the field is empty. Raises `Invalid`."""
    return _read(row, field, _number, "a number")


def instant_of(row: Mapping[str, str], field: str) -> datetime | None:
    """Answer an instant in UTC to the second, None if the field is empty. Raises `Invalid`."""
    expected = "an instant with an offset such as 2026-01-31T10:00:00Z"
    return _read(row, field, _instant, expected)


def day_of(row: Mapping[str, str], field: str) -> date | None:
    """Answer a day, None if the field is empty. Raises `Invalid`."""
    return _read(row, field, date.fromisoformat, "a day such as 1950-01-31")


def _read(
    row: Mapping[str, str], field: str, read: Callable[[str], Value], expected: str
) -> Value | None:
    text = text_of(row, field)
    if text is None:
        return None
    try:
        return read(text)
    except (ValueError, OverflowError):
        raise Invalid(field, f"is {text[:40]!r}; expected {expected}") from None


def _number(text: str) -> float:
    if not _NUMBER.fullmatch(text):
        raise ValueError(text)
    return float(text)


def _instant(text: str) -> datetime:
    instant = datetime.fromisoformat(text)
    if instant.utcoffset() is None or instant.year not in YEARS:
        raise ValueError(text)
    return instant.astimezone(UTC).replace(microsecond=0)
