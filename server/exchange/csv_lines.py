"""Writing the lines of a CSV file: plain values, and texts that no spreadsheet works out."""

from collections.abc import Iterable
from datetime import date, datetime

from server.domain.encoding import write_instant
from server.exchange.csv_fields import FORMULA_STARTS


def csv_line(values: Iterable[object]) -> str:
    """Answer one line without its end: instants in UTC, days as ISO 8601, None as nothing."""
    return ",".join(_field(value) for value in values)


def _field(value: object) -> str:
    """One field; a text that a spreadsheet would work out is kept from it by an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return write_instant(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return repr(value).removesuffix(".0")
    return _text(str(value))


def _text(text: str) -> str:
    guarded = f"'{text}" if text.startswith(FORMULA_STARTS) else text
    if guarded is not text or any(mark in guarded for mark in ',"\r\n'):
        doubled = guarded.replace('"', '""')
        return f'"{doubled}"'
    return guarded
