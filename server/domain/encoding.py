"""Payloads and other frozen values as JSON-ready dictionaries and back, lossless.

Instants are RFC 3339 in UTC with `Z`, to the second.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, datetime
from enum import StrEnum
from functools import cache
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from server.domain.payloads import PAYLOADS, Payload
from server.domain.words import Kind

Reader = Callable[[Any], Any]
Value = TypeVar("Value")


def write_instant(instant: datetime) -> str:
    """Answer an aware instant as `2026-01-31T10:00:00Z`."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def read_instant(text: str) -> datetime:
    """Read what `write_instant` wrote, or any RFC 3339 instant with an offset."""
    return datetime.fromisoformat(text).astimezone(UTC)


def encode(value: Any) -> Any:
    """Answer a payload as plain JSON values; fields that are None are left out."""
    if is_dataclass(value):
        pairs = ((field.name, getattr(value, field.name)) for field in fields(value))
        return {name: encode(item) for name, item in pairs if item is not None}
    if isinstance(value, datetime):
        return write_instant(value)
    if isinstance(value, tuple | list):
        return [encode(item) for item in value]
    return str(value) if isinstance(value, StrEnum) else value


def decode(kind: Kind, data: Mapping[str, Any]) -> Payload:
    """Build the payload of `kind`; raises `Invalid` for impossible values."""
    return decode_as(PAYLOADS[kind], data)


def decode_as(wanted: type[Value], data: Mapping[str, Any]) -> Value:
    """Build a frozen value of a dataclass from what `encode` made of it."""
    shape: Any = wanted
    value: Value = _reader(shape)(data)
    return value


@cache
def _reader(wanted: Any) -> Reader:
    """Make the function that turns a JSON value into `wanted`, once per type."""
    if get_origin(wanted) in (Union, UnionType):
        (inner,) = (_reader(part) for part in get_args(wanted) if part is not NoneType)
        return lambda value: None if value is None else inner(value)
    if get_origin(wanted) is tuple:
        item = _reader(get_args(wanted)[0])
        return lambda value: tuple(item(part) for part in value)
    if is_dataclass(wanted):
        return _record_reader(wanted)
    if wanted is datetime:
        return read_instant
    return wanted if issubclass(wanted, StrEnum) else _as_is


def _record_reader(wanted: Any) -> Reader:
    hints = get_type_hints(wanted)
    readers = {name: _reader(hint) for name, hint in hints.items()}
    # What was left out as None has to be given where the dataclass asks for it.
    left_out = {
        field.name: None
        for field in fields(wanted)
        if field.default is MISSING and NoneType in get_args(hints[field.name])
    }
    return lambda data: wanted(
        **left_out | {name: readers[name](value) for name, value in data.items()}
    )


def _as_is(value: Any) -> Any:
    return value
