"""What there is to tell, and where it is read from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol


@dataclass(frozen=True, slots=True)
class News:
    """What changed on a ward after some revision, up to and with `revision`.

    `reminders` are those raised or acknowledged meanwhile, as the source answers them. `whole`:
    too much changed to be named, so the ward has to be read anew.
    """

    ward_id: str
    revision: int
    episode_ids: tuple[str, ...] = ()
    reminders: tuple[Any, ...] = ()
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Pulse:
    """The present revision of every ward, and when reminders were last checked."""

    revisions: Mapping[str, int]
    checked_at: datetime | None


@dataclass(frozen=True, slots=True)
class Tick:
    """A sign of life on a ward's stream: the instant, the last check, and what was told so far.

    `away`: the source cannot be asked just now, so that more may have changed.
    """

    ward_id: str
    at: datetime
    checked_at: datetime | None
    revision: int
    away: bool = False


class Source(Protocol):
    """Where news is read from; both may raise when the database is away."""

    def pulse(self) -> Pulse:
        """How all wards stand now."""

    def news(self, ward_id: str, since: int) -> News:
        """What changed on a ward after revision `since`."""
