"""Lengths of time that a page goes on counting by itself between two updates.

`web/static/js/counting.js` says the same words from the same whole minutes, so that a text that
was written by the server and one that was counted on in the browser never disagree.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.wording import ago, span, until, whole_minutes
from server.pages.page_head import iso

_LENGTH: Final = r"(?:(\d+) d (\d+) h|(\d+) h (\d\d)|(\d+) min)"
_COUNTED: Final = re.compile(rf"\bin {_LENGTH}\b|\b{_LENGTH} ago\b|\bjust now\b")


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a sentence. With `at_iso` it is counted: kind `until` or `ago` that instant."""

    text: str
    kind: str = ""
    at_iso: str = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant that something is owed at, with its count; late once the limit is passed."""

    at_iso: str
    limit_iso: str
    text: str
    kind: str
    count: str
    late: bool


def count_text(kind: str, at: datetime, limit: datetime | None, now: datetime) -> str:
    """Answer the count to an instant in words, late once `limit` is passed.

    Kinds: `due` (`in 7 min`, `2 min ago`, `12 min late`), `limit` (`limit in 2 h 58`), `until`
    and `ago`.
    """
    if kind == "ago" or (at < now and whole_minutes(at, now) > 0):
        late = limit is not None and limit < now
        return f"{span(whole_minutes(at, now))} late" if late else ago(at, now)
    return f"limit {until(at, now)}" if kind == "limit" else until(at, now)


def counted_parts(sentence: str, now: datetime) -> Iterator[Part]:
    """Split a sentence that was written at `now` into plain and counted pieces."""
    last = 0
    for found in _COUNTED.finditer(sentence):
        if found.start() > last:
            yield Part(sentence[last : found.start()])
        yield _counted(found, now)
        last = found.end()
    if last < len(sentence):
        yield Part(sentence[last:])


def _counted(found: re.Match[str], now: datetime) -> Part:
    text = found.group()
    groups = found.groups()
    if text.startswith("in "):
        return Part(text, "until", iso(now + _length(groups[:5])))
    return Part(text, "ago", iso(now - _length(groups[5:])))


def _length(groups: tuple[str | None, ...]) -> timedelta:
    days, day_hours, hours, hour_minutes, minutes = (int(group or 0) for group in groups)
    return timedelta(days=days, hours=day_hours + hours, minutes=hour_minutes + minutes)
