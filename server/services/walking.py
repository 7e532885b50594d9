"""How far a walk over all units and the whole log has come; a minute goes a share of the way.

Every unit on a board comes up within an hour, every other and every fact within a day, up to
60 000 live units and 1.4 million others. What something was wrong of is looked at each time.
"""

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from math import ceil
from typing import Any, Final

from server.services.walk_units import Suspects, walk_units
from server.store.requests import episode_ids_after
from server.store.sessions import ReadSession
from server.store.soundness import (
    count_live,
    count_places,
    count_units,
    last_place,
    live_units_after,
)
from server.store.store import Store

LIVE_MINUTES: Final = 60
ALL_MINUTES: Final = 1_440
LEAST_UNITS: Final = 50
MOST_UNITS: Final = 1_000
PIECE: Final = 20_000
BATCH: Final = 200
SUSPECTS_KEPT: Final = 500

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class UnitsPlace:
    """The last ids that were looked at on boards and among all, and what is wrong of which."""

    live: str = ""
    all: str = ""
    suspects: Suspects = field(default_factory=Suspects)
    units: int = 0
    on_boards: int = 0

    def told(self) -> Any:
        """As it is kept."""
        return asdict(self)

    @staticmethod
    def read(told: Any) -> "UnitsPlace":
        """As it was kept; the beginning for None, and for what another version kept."""
        try:
            suspects = {name: tuple(ids) for name, ids in told["suspects"].items()}
            return UnitsPlace(**{**told, "suspects": Suspects(**suspects)})
        except (KeyError, TypeError):
            return UnitsPlace()


@dataclass(frozen=True, slots=True)
class LogPlace:
    """From where the log is looked at next, by pieces, and the pieces in which facts are missing.

    A piece is named by the place before it. `seen` is the last place that was ever looked at.
    """

    after: int = 0
    seen: int = 0
    gaps: tuple[tuple[int, int], ...] = ()

    @property
    def missing(self) -> int:
        """How many facts are missing."""
        return sum(missing for _, missing in self.gaps)

    def told(self) -> Any:
        """As it is kept."""
        return asdict(self)

    @staticmethod
    def read(told: Any) -> "LogPlace":
        """As it was kept; the beginning for None, and for what another version kept."""
        try:
            gaps = tuple((after, missing) for after, missing in told["gaps"])
            return LogPlace(told["after"], told["seen"], gaps)
        except (KeyError, TypeError, ValueError):
            return LogPlace()


def step_units(session: ReadSession, place: UnitsPlace, *, now: datetime) -> UnitsPlace:
    """Look at the share of one minute, and again at what was wrong. Raises `Away`."""
    on_boards, units = count_live(session, now), count_units(session)
    live_share, all_share = _share(on_boards, LIVE_MINUTES), _share(units, ALL_MINUTES)
    live = live_units_after(session, place.live, now, limit=live_share)
    others = episode_ids_after(session, place.all, limit=all_share)
    suspects = walk_units(session, {*live, *others, *place.suspects.ids}, now=now)
    return UnitsPlace(
        live[-1] if len(live) == live_share else "",
        others[-1] if len(others) == all_share else "",
        _first_of(suspects),
        units,
        on_boards,
    )


def step_log(session: ReadSession, place: LogPlace) -> LogPlace:
    """Count the facts of the share of one minute, and again where some were missing."""
    end = last_place(session)
    until = place.after + PIECE * max(1, ceil(end / PIECE / ALL_MINUTES))
    pieces = {*(after for after, _ in place.gaps), *range(place.after, min(until, end), PIECE)}
    # At the end it begins anew: facts that come meanwhile do not keep it from what was before.
    after = 0 if until >= end else until
    return LogPlace(after, max(place.seen, min(until, end)), _gaps(session, pieces, end))


def walk_all_units(
    store: Store, clock: Callable[[], datetime], *, progress: Progress = lambda *_: None
) -> UnitsPlace:
    """Look at every unit, piece by piece, each as of when it is read: it takes its time.

    Raises `Away`.
    """
    suspects, last, done = Suspects(), "", 0
    with store.read() as session:
        total, on_boards = count_units(session), count_live(session, clock())
    while True:
        with store.read() as session:
            ids = episode_ids_after(session, last, limit=BATCH)
            # Asked after the first question: no row that is read was worked out later.
            suspects = suspects.joined(walk_units(session, ids, now=clock()))
        done += len(ids)
        progress("units", done, max(done, total))
        if len(ids) < BATCH:
            return UnitsPlace(suspects=suspects, units=done, on_boards=on_boards)
        last = ids[-1]


def walk_whole_log(session: ReadSession) -> LogPlace:
    """Count all facts of the log."""
    end = last_place(session)
    return LogPlace(0, end, _gaps(session, range(0, end, PIECE), end))


def _gaps(session: ReadSession, pieces: Iterable[int], end: int) -> tuple[tuple[int, int], ...]:
    ends = ((after, min(after + PIECE, end)) for after in sorted(pieces))
    missing = (
        (after, until - after - count_places(session, after, until)) for after, until in ends
    )
    return tuple(one for one in missing if one[1])


def _share(total: int, minutes: int) -> int:
    return min(MOST_UNITS, max(LEAST_UNITS, ceil(total / minutes)))


def _first_of(suspects: Suspects) -> Suspects:
    """Not more than a minute can look at again."""
    return Suspects(
        suspects.differing[:SUSPECTS_KEPT],
        suspects.unreadable[:SUSPECTS_KEPT],
        suspects.unraised[:SUSPECTS_KEPT],
        suspects.misordered[:SUSPECTS_KEPT],
    )
