"""The state of the program, for whoever keeps it running: what holds, what does not, who runs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.invariants import Finding, Invariant, Patience, Process, clocks
from server.domain.invariants.processes import seen_lately
from server.services.actor import Actor
from server.services.backups import Backup, last_backup
from server.services.permissions import Act, require
from server.services.sheet_folder import SHEETS_BEAT
from server.services.tick import HEARTBEAT
from server.store.heartbeat import last_beat
from server.store.invariants import Broken, Kept, count_broken, read_breaks, read_kept
from server.store.processes import read_processes
from server.store.sessions import ReadSession
from server.store.soundness import schema_version

STALE: Final = 18
"""Nobody has looked for so many times the patience with a tick: three minutes."""
SILENT: Final = 3.5
"""Who leads says so every 1.5 times that patience: after two such silences it may be gone."""
_TICK: Final = Invariant.CLOCKS_CHECKED
BREAKS_SHOWN: Final = 30


@dataclass(frozen=True, slots=True)
class ProgramState:
    """How the program stands at `now`; `looked_at` None: nobody has looked at the invariants yet.

    `kept` has an entry for each invariant that was looked at, whether it is stale by now or not;
    that clocks are checked is judged anew, and is there before the first look. `processes` were
    seen lately, `gone` were not; `leader` is who runs the jobs. `is_starting`: who is to look has
    begun a moment ago, and has not looked yet.
    """

    now: datetime
    looked_at: datetime | None
    is_stale: bool
    is_starting: bool
    kept: tuple[Kept, ...]
    breaks: tuple[Broken, ...]
    processes: tuple[Process, ...]
    gone: tuple[Process, ...]
    leader: Process | None
    schema: str | None
    backup: Backup | None
    sheets_at: datetime | None

    @property
    def broken(self) -> tuple[Kept, ...]:
        """The invariants that do not hold."""
        return tuple(one for one in self.kept if one.finding.is_broken)


def read_program_state(
    session: ReadSession, actor: Actor, *, now: datetime, patience: Patience
) -> ProgramState:
    """Answer all of it. Raises `Forbidden`."""
    require(actor, Act.WATCH)
    found = read_kept(session)
    looked_at = max((one.looked_at for one in found.values()), default=None)
    kept = _judged_anew(session, found, now, patience)
    every, sheets = read_processes(session), last_beat(session, SHEETS_BEAT)
    seen = seen_lately(every, now, patience)
    return ProgramState(
        now,
        looked_at,
        _is_stale(looked_at, now, patience),
        _is_starting(seen, looked_at, now, patience),
        tuple(kept[one] for one in Invariant if one in kept),
        read_breaks(session, limit=BREAKS_SHOWN),
        seen,
        tuple(one for one in every if one not in seen),
        _leader(seen, now, patience),
        schema_version(session),
        last_backup(session),
        None if sheets is None else sheets.at,
    )


def broken_now(session: ReadSession, *, now: datetime, patience: Patience) -> tuple[Finding, ...]:
    """Answer what does not hold: as it was looked at last, and whether clocks are checked now."""
    kept = _judged_anew(session, read_kept(session), now, patience)
    return tuple(one.finding for one in kept.values() if one.finding.is_broken)


def broken_when_looked_at(session: ReadSession) -> int:
    """Answer how many did not hold when they were looked at last, the ticks left out.

    Whether clocks are checked is better told from when they were: who looks may be gone too.
    """
    return count_broken(session, but=_TICK)


def _judged_anew(
    session: ReadSession, kept: Mapping[Invariant, Kept], now: datetime, patience: Patience
) -> dict[Invariant, Kept]:
    """With the tick as it is now: who looks at the invariants may be gone together with it."""
    beat = last_beat(session, HEARTBEAT)
    if not kept and beat is None:
        return {}
    beat_at = None if beat is None else beat.at
    finding = clocks.clocks_checked(beat_at, now, patience, is_served=True)
    old = kept.get(finding.invariant) or Kept(finding, now, now)
    since = old.since
    if old.finding.standing is not finding.standing:
        since = beat_at if finding.is_broken and beat_at is not None else now
    return {**kept, finding.invariant: replace(old, finding=finding, since=since)}


def _leader(seen: Sequence[Process], now: datetime, patience: Patience) -> Process | None:
    """Of several that say that they lead the one that said it last, unless it is silent."""
    leading = (one for one in seen if one.leads and now - one.seen_at <= patience.times(SILENT))
    return max(leading, key=lambda one: one.seen_at, default=None)


def _is_starting(
    seen: Sequence[Process], looked_at: datetime | None, now: datetime, patience: Patience
) -> bool:
    """Whether the first look of whoever leads is still to come; who may lead does so soon."""
    leading = [one for one in seen if one.leads] or [one for one in seen if one.may_lead]
    begun = min((one.started_at for one in leading), default=None)
    if begun is None or now - begun > patience.times(STALE):
        return False
    return looked_at is None or looked_at < begun


def _is_stale(looked_at: datetime | None, now: datetime, patience: Patience) -> bool:
    return looked_at is None or now - looked_at > patience.times(STALE)
