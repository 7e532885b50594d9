"""The one file that reads the system clock. Everything else is told what time it is."""

from datetime import UTC, datetime


def utc_now() -> datetime:
    """The present instant: aware, in UTC, cut to the whole second."""
    return datetime.now(UTC).replace(microsecond=0)
