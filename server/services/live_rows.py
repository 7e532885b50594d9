"""The rows of one ward's board of now: which have to be looked at anew, and in which order.

A change moves few of many rows. What a board asks of every row is therefore kept beside them.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from server.domain.picture import Case, Picture
from server.domain.request import Request
from server.domain.words import Level
from server.services.read_board import BoardRow
from server.services.sound_cases import sound_picture

SortKey = tuple[object, ...]


@dataclass(slots=True)
class LiveRow:
    """One unit in memory: its facts, and what was made of them when it was last looked at."""

    case: Case
    next_change_at: datetime | None
    picture: Picture | None = None
    key: SortKey = ()
    shown: BoardRow | None = None

    def named(self, names: Mapping[str, str]) -> BoardRow:
        """The row with its nurse's name; the very same where it is as it was: it stays drawn."""
        assert self.picture is not None  # noqa: S101 - looked at before it is shown
        name = names.get(self.picture.episode.nurse_id or "")
        if self.shown is None or self.shown.nurse_name != name:
            self.shown = BoardRow(self.picture, name)
        return self.shown

    @property
    def leaves_at(self) -> datetime | None:
        """From when on it is off the board."""
        return None if self.picture is None else self.picture.open_until


class InOrder:
    """Rows in order of urgency, with their levels."""

    def __init__(self) -> None:
        self._keys: list[SortKey] = []
        self.rows: list[BoardRow] = []
        self.levels: list[Level] = []

    def put(self, key: SortKey, row: BoardRow) -> None:
        """Put a row in its place."""
        place = bisect_left(self._keys, key)
        self._keys.insert(place, key)
        self.rows.insert(place, row)
        self.levels.insert(place, row.picture.urgency.level)

    def take(self, key: SortKey) -> None:
        """Take a row out; none of that key is no harm."""
        place = bisect_left(self._keys, key)
        if place < len(self._keys) and self._keys[place] == key:
            del self._keys[place], self.rows[place], self.levels[place]


class LiveRows:
    """All rows of a ward. Whatever may have changed is marked; `look` looks at it, and no more."""

    def __init__(self, rows: Iterable[LiveRow] = ()) -> None:
        self._rows = {row.case.request.id: row for row in rows}
        self._marked = set(self._rows)
        self._minute: datetime | None = None
        self._earliest: datetime | None = None
        self._names: Mapping[str, str] = {}
        self.in_order = InOrder()
        self.spoilt: dict[str, Request] = {}
        """Units that cannot be worked out, by id."""

    def get(self, episode_id: str) -> LiveRow | None:
        """The row of a unit."""
        return self._rows.get(episode_id)

    def put(self, row: LiveRow) -> None:
        """Put a unit on the board, or another state of its facts."""
        episode_id = row.case.request.id
        before = self._rows.get(episode_id)
        if before is not None:
            row.key = before.key  # where it still stands
        self._rows[episode_id] = row
        self._marked.add(episode_id)
        self.spoilt.pop(episode_id, None)

    def spoil(self, requests: Iterable[Request]) -> None:
        """Take units off the board whose facts cannot be read."""
        for request in requests:
            row = self._rows.pop(request.id, None)
            self._marked.discard(request.id)
            self.spoilt[request.id] = request
            if row is not None:
                self.in_order.take(row.key)

    def look(self, now: datetime) -> list[LiveRow]:
        """Look anew at what does not show `now` any more; answer what was looked at or has left."""
        looked = [self._rows[episode_id] for episode_id in self._stale(now)]
        for row in looked:
            self.in_order.take(row.key)
            row.picture, row.shown = sound_picture(row.case, now), None
            if row.picture is None:
                self.spoilt[row.case.request.id] = self._rows.pop(row.case.request.id).case.request
                continue
            row.key = row.picture.sort_key
            if row.leaves_at is not None and row.leaves_at <= now:
                del self._rows[row.case.request.id]
            else:
                self._await(row.next_change_at, row.leaves_at)
        self._marked.clear()
        return looked

    def show(self, looked: Iterable[LiveRow], names: Mapping[str, str]) -> None:
        """Put rows that were looked at in their places, and all of them under other names."""
        if names != self._names:
            self._names, self.in_order, looked = dict(names), InOrder(), self._rows.values()
        for row in looked:
            if row.case.request.id in self._rows:
                self.in_order.put(row.key, row.named(names))

    def nurses(self) -> set[str]:
        """The ids of the nurses who have any of the units."""
        pictures = (row.picture for row in self._rows.values())
        held = {looked.episode.nurse_id for looked in pictures if looked is not None}
        return {nurse_id for nurse_id in held if nurse_id is not None}

    def _stale(self, now: datetime) -> set[str]:
        """What is marked, and what time alone has changed: each minute all, for its words do."""
        minute = now.replace(second=0, microsecond=0)
        if minute != self._minute:
            self._minute, self._earliest = minute, None
            return set(self._rows)
        if self._earliest is not None and self._earliest <= now:
            self._earliest = None
            for episode_id, row in self._rows.items():
                self._await(row.next_change_at, row.leaves_at)
                if any(at and at <= now for at in (row.next_change_at, row.leaves_at)):
                    self._marked.add(episode_id)
        return self._marked

    def _await(self, *instants: datetime | None) -> None:
        """Look again at the earliest of these, or before."""
        known = [at for at in (self._earliest, *instants) if at is not None]
        self._earliest = min(known, default=None)
