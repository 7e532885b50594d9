"""Instants and days as the JSON interface takes and gives them."""

import re
from datetime import UTC, date, datetime
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from server.domain.encoding import write_instant

YEARS: Final = range(1900, 2200)  # wide enough for a birth and a plan, too narrow for a slip
FIRST: Final = datetime(YEARS.start, 1, 1, tzinfo=UTC)
LAST: Final = datetime(YEARS.stop - 1, 12, 31, tzinfo=UTC)
RFC_3339: Final = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,12})?([Zz]|[+-]\d\d:\d\d)", re.ASCII
)
DAY: Final = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
LOST_PLUS: Final = re.compile(r" (?=\d\d:\d\d$)", re.ASCII)
EXPECTED: Final = "expected an instant with an offset, such as 2026-11-25T10:00:00Z"
EXPECTED_DAY: Final = "expected a day such as 1954-03-09"
INSTANT_SCHEMA: Final = {
    "type": "string",
    "format": "date-time",
    "examples": ["2026-11-25T10:00:00Z"],
}


def read_instant(given: Any) -> datetime:
    """An RFC 3339 text with an offset as an instant in UTC, cut to the second.

    Raises ValueError; an instant without an offset could mean any of 24 hours.
    """
    instant = _parse(given)
    if instant.year not in YEARS:
        raise ValueError(f"expected a year from {YEARS.start} to {YEARS.stop - 1}")
    return instant.astimezone(UTC)


def read_query_instant(given: Any) -> datetime:
    """The same from an address, where a plus that nobody encoded has become a space.

    Before the first year nothing has happened and after the last nothing will have changed: who
    asks for an instant beyond them is answered as of the nearest.
    """
    instant = _parse(LOST_PLUS.sub("+", given) if isinstance(given, str) else given)
    if instant.year < YEARS.start:
        return FIRST
    return instant.astimezone(UTC) if instant.year < YEARS.stop else LAST


def _parse(given: Any) -> datetime:
    if not isinstance(given, str) or RFC_3339.fullmatch(given) is None:
        raise ValueError(EXPECTED)
    whole = re.sub(r"\.\d+", "", given.upper())
    try:
        return datetime.fromisoformat(whole)
    except ValueError:
        raise ValueError(EXPECTED) from None


def read_day(given: Any) -> date:
    """A day of the calendar. Raises ValueError."""
    if not isinstance(given, str) or DAY.fullmatch(given) is None:
        raise ValueError(EXPECTED_DAY)
    try:
        day = date.fromisoformat(given)
    except ValueError:
        raise ValueError(EXPECTED_DAY) from None
    if day.year not in YEARS:
        raise ValueError(f"expected a year from {YEARS.start} to {YEARS.stop - 1}")
    return day


_WRITE: Final = PlainSerializer(write_instant, return_type=str, when_used="json-unless-none")
_SCHEMA: Final = WithJsonSchema(INSTANT_SCHEMA)

Instant = Annotated[datetime, BeforeValidator(read_instant), _WRITE, _SCHEMA]
QueryInstant = Annotated[datetime, BeforeValidator(read_query_instant), _SCHEMA]
Moment = Annotated[datetime, _WRITE, _SCHEMA]
"""An instant in an answer."""
Day = Annotated[
    date,
    BeforeValidator(read_day),
    WithJsonSchema({"type": "string", "format": "date", "examples": ["1954-03-09"]}),
]
