"""Column types that hold the same value on SQLite and on PostgreSQL."""

import json
from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import DateTime, Dialect, String, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

_TO_THE_SECOND: Final = len("2026-01-31T10:00:00")


class UtcDateTime(TypeDecorator[datetime]):
    """An instant: aware in, aware in UTC out, cut to the whole second; a naive one is refused.

    SQLite has no such type. There it is the text of RFC 3339 with `Z`, which sorts as time does.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Text on SQLite, a timestamp with time zone elsewhere."""
        own = String(20) if dialect.name == "sqlite" else DateTime(timezone=True)
        return dialect.type_descriptor(own)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Refuse a naive instant; write the rest in UTC."""
        if value is None:
            return None
        if value.tzinfo is not UTC:
            value = _in_utc(value)
        if dialect.name == "sqlite":
            return value.isoformat()[:_TO_THE_SECOND] + "Z"
        return value.replace(microsecond=0)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Answer the instant in UTC."""
        if value is None:
            return None
        if dialect.name == "sqlite":
            return datetime.fromisoformat(value)
        return value.astimezone(UTC)  # type: ignore[no-any-return]


def _in_utc(value: datetime) -> datetime:
    if value.utcoffset() is None:
        raise ValueError(f"an instant without an offset: {value!r}")
    return value.astimezone(UTC)


class JsonText(TypeDecorator[Any]):
    """Plain JSON values, kept as text so that both engines keep the very same characters."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:  # noqa: ARG002 - fixed signature
        """Write without spaces; None is NULL, not the text "null"."""
        if value is None:
            return None
        return json.dumps(value, ensure_ascii=False, separators=(",", ":"))

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:  # noqa: ARG002 - fixed signature
        """Answer what was written; tuples come back as lists."""
        return None if value is None else json.loads(value)


def plain_value(value: Any, dialect: Dialect) -> Any:
    """A parameter as the driver itself takes it: an instant as its column holds it."""
    return _INSTANT.process_bind_param(value, dialect) if isinstance(value, datetime) else value


_INSTANT: Final = UtcDateTime()
