"""The text of server-sent events."""

from typing import Final

_DIGITS: Final = 18  # what a database's counter holds


def server_sent(event: str, data: str, *, revision: int | None = None) -> bytes:
    """One event as bytes. With a `revision`, a client that reconnects says it has seen it."""
    # Not `splitlines`: it would also break at separators that are plain characters in JSON.
    plain = data.replace("\r\n", "\n").replace("\r", "\n")
    lines = [f"event: {event}", *(f"data: {line}" for line in plain.split("\n"))]
    if revision is not None:
        lines.append(f"id: {revision}")
    return ("\n".join(lines) + "\n\n").encode()


def seen_revision(*said: str | None) -> int | None:
    """The first revision among what a client says it has seen; anything else says nothing."""
    for text in said:
        if text and text.isascii() and text.isdecimal() and len(text) <= _DIGITS:
            return int(text)
    return None
