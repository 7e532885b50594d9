"""What stands above the rows: how many call for somebody, whose rows to show, and in what order."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import Final
from urllib.parse import quote

from server.domain.alarm import MARK
from server.pages.row_view import UNASSIGNED, RowView, dom_key

TALLY: Final = (("high", "need you now"), ("medium", "at risk or due"), ("low", "soon"))
NOBODY: Final = "Unassigned"
_PRIORITY: Final = attrgetter("priority")
_NURSE: Final = attrgetter("nurse_key")


@dataclass(frozen=True, slots=True)
class Tally:
    """How many rows call for somebody at one priority."""

    priority: str
    mark: str
    count: int
    words: str


@dataclass(frozen=True, slots=True)
class Filter:
    """A choice of whose rows to show; `key` is a nurse's, `UNASSIGNED`, or "" for all."""

    key: str
    text: str
    href: str
    count: int
    current: bool


def tally(rows: Sequence[RowView]) -> tuple[Tally, ...]:
    """Answer the counts by priority, first to last; a priority without rows is left out."""
    counts = Counter(map(_PRIORITY, rows))
    return tuple(
        Tally(priority, MARK[priority], counts[priority], words)
        for priority, words in TALLY
        if counts[priority]
    )


def filters(
    rows: Sequence[RowView], names: Mapping[str, str], href: str, nurse_key: str
) -> tuple[Filter, ...]:
    """Answer the choices among open rows: all, each nurse who has any by name, and nobody's."""
    counts = Counter(map(_NURSE, rows))
    choices = [("", "All", href, counts.total())]
    choices += [
        (key, name, link, counts[key])
        for key, name, link in _nurses(tuple(names.items()), href)
        if counts[key] or key == nurse_key
    ]
    if counts[UNASSIGNED] or nurse_key == UNASSIGNED:
        choices.append((UNASSIGNED, NOBODY, f"{href}?nurse={UNASSIGNED}", counts[UNASSIGNED]))
    return tuple(
        Filter(key, text, link, count, current=key == nurse_key)
        for key, text, link, count in choices
    )


def filter_key(nurse_id: str | None) -> str:
    """Answer the key of a filter: "" for all, `UNASSIGNED` for nobody's, else the nurse's."""
    if nurse_id is None or nurse_id == UNASSIGNED:
        return nurse_id or ""
    return dom_key(nurse_id)


def nurse_name(nurse_id: str | None, names: Mapping[str, str]) -> str:
    """Answer whose rows are shown, empty for all."""
    if nurse_id is None:
        return ""
    return NOBODY if nurse_id == UNASSIGNED else names.get(nurse_id, nurse_id)


def order_text(rows: Iterable[RowView]) -> str:
    """Answer the order as the page reads it: `row:nurse` for each row, separated by spaces."""
    return " ".join([f"{row.key}:{row.nurse_key}" for row in rows])


def rows_of(rows: tuple[RowView, ...], nurse_key: str) -> tuple[RowView, ...]:
    """Answer the rows that a filter shows."""
    return tuple([row for row in rows if row.nurse_key == nurse_key]) if nurse_key else rows


@lru_cache(maxsize=256)
def _nurses(names: tuple[tuple[str, str], ...], href: str) -> tuple[tuple[str, str, str], ...]:
    """The key, the name and the address of each nurse's rows, by name."""
    ordered = sorted(names, key=lambda item: (item[1].casefold(), item[0]))
    return tuple(
        (dom_key(nurse_id), name, f"{href}?nurse={quote(nurse_id, safe='')}")
        for nurse_id, name in ordered
    )
