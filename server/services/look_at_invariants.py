"""Look at every invariant, and keep what was found where every process of the board sees it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from server.domain.invariants import Finding, Invariant, Patience, Process, clocks, facts, processes
from server.services.backups import last_backup
from server.services.check_audit import last_checked
from server.services.list_double_bags import list_double_bags_on_boards
from server.services.sheet_folder import OLD_AFTER, SHEETS_BEAT
from server.services.tick import HEARTBEAT
from server.services.walking import LogPlace, UnitsPlace, step_log, step_units
from server.store.due import faulty_episodes
from server.store.heartbeat import last_beat
from server.store.invariants import Kept, forget_breaks, keep_findings, read_kept
from server.store.migrate import newest_version
from server.store.processes import forget_processes, read_processes
from server.store.sessions import ReadSession
from server.store.soundness import (
    is_key_needed,
    messages_stuck,
    newest_stamps,
    schema_version,
    units_without_clocks,
    ward_revisions,
    webhooks_on,
)
from server.store.store import Store
from server.store.vitals import units_due

EVERY: Final = timedelta(minutes=1)
FORGOTTEN_AFTER: Final = timedelta(days=1)
"""For so long a process that was killed is still told of."""
BREAKS_KEPT: Final = timedelta(days=400)
WALKED: Final = (
    "none differs; each of {on_boards} on boards is looked at within an hour, each of {units} "
    "within a day"
)
WHOLE: Final = "none of {units} differs"

Places = Mapping[Invariant, Any]


@dataclass(frozen=True, slots=True)
class Look:
    """What was found, in the order in which it is told, and how far walks have come."""

    findings: tuple[Finding, ...]
    places: Places


def keep_invariants(store: Store, *, now: datetime, patience: Patience) -> tuple[Finding, ...]:
    """Look at all of them, each walk going the share of a minute, and keep what was found.

    Raises `Away`.
    """
    with store.read() as session:
        before = read_kept(session)
        units, log = step_walks(session, before, now=now)
        look = look_at(session, units, log, now=now, patience=patience, before=before)
    with store.write() as session:
        keep_findings(session, [_kept(one, look, before, now) for one in look.findings])
        forget_processes(session, now - FORGOTTEN_AFTER)
        forget_breaks(session, now - BREAKS_KEPT)
    return look.findings


def step_walks(
    session: ReadSession, kept: Mapping[Invariant, Kept], *, now: datetime
) -> tuple[UnitsPlace, LogPlace]:
    """Answer where walks come to that go on for a minute from where they were kept.

    Raises `Away`.
    """
    units = UnitsPlace.read(_place(kept, Invariant.ROWS_AS_FACTS))
    log = LogPlace.read(_place(kept, Invariant.LOG_WHOLE))
    return step_units(session, units, now=now), step_log(session, log)


def look_at(
    session: ReadSession,
    units: UnitsPlace,
    log: LogPlace,
    *,
    now: datetime,
    patience: Patience,
    before: Mapping[Invariant, Kept] | None = None,
    beside: Process | None = None,
    is_whole: bool = False,
) -> Look:
    """Answer how all stand now, with what walks over the units and the log came upon.

    `beside` is a process that is judged with those that said how they are; `is_whole`: the walks
    have been over everything.
    """
    seen = processes.seen_lately(read_processes(session), now, patience)
    revisions = ward_revisions(session)
    were = _place(before or {}, Invariant.REVISIONS_GO_ON) or {}
    found = {
        one.invariant: one
        for one in (
            *_of_time(session, now, patience, is_served=bool(seen)),
            *_of_walks(session, units, log, WHOLE if is_whole else WALKED),
            *_of_facts(session, now, is_served=bool(seen)),
            facts.revisions_go_on(revisions, were, newest_stamps(session)),
            *_of_processes(session, seen if beside is None else (*seen, beside)),
        )
    }
    places = {
        Invariant.ROWS_AS_FACTS: units.told(),
        Invariant.LOG_WHOLE: log.told(),
        # One that fell is told of until it has come to where it was.
        Invariant.REVISIONS_GO_ON: {
            ward_id: max(revision, were.get(ward_id, 0)) for ward_id, revision in revisions.items()
        },
    }
    return Look(tuple(found[one] for one in Invariant), places)


def _of_time(
    session: ReadSession, now: datetime, patience: Patience, *, is_served: bool
) -> tuple[Finding, ...]:
    due, stuck = units_due(session, now), messages_stuck(session, now)
    backup = last_backup(session)
    at, every = (None, None) if backup is None else (backup.at, backup.every)
    old_after = OLD_AFTER * (patience.tick / Patience().tick)
    return (
        clocks.clocks_checked(_beat_at(session, HEARTBEAT), now, patience, is_served=is_served),
        clocks.units_looked_at(due.count, due.since, now, patience),
        clocks.messages_sent(webhooks_on(session), stuck.count, stuck.since, now, patience),
        clocks.sheets_fresh(_beat_at(session, SHEETS_BEAT), now, old_after),
        clocks.backup_fresh(at, every, now),
    )


def _beat_at(session: ReadSession, name: str) -> datetime | None:
    beat = last_beat(session, name)
    return None if beat is None else beat.at


def _of_walks(
    session: ReadSession, units: UnitsPlace, log: LogPlace, walked: str
) -> tuple[Finding, ...]:
    suspects = units.suspects
    set_aside = (episode_id for episode_id, _ in faulty_episodes(session))
    unreadable = sorted({*suspects.unreadable, *set_aside})
    said = walked.format(on_boards=units.on_boards, units=units.units)
    above = min((after for after, _ in log.gaps), default=0)
    return (
        clocks.reminders_raised(suspects.unraised),
        facts.units_readable(unreadable),
        facts.rows_as_facts(suspects.differing, said),
        facts.orders_as_units(suspects.misordered),
        facts.log_whole(log.missing, above, log.seen),
    )


def _of_facts(session: ReadSession, now: datetime, *, is_served: bool) -> tuple[Finding, ...]:
    checked = last_checked(session)
    at, fault, place = None, "", 0
    if checked is not None:
        at, fault, place = checked.at, checked.broken, checked.head.position
    return (
        facts.units_have_clocks(units_without_clocks(session, now)),
        facts.bags_held_once(list_double_bags_on_boards(session, now=now)),
        facts.audit_whole(at, fault, place, now, is_served=is_served),
    )


def _of_processes(session: ReadSession, seen: Sequence[Process]) -> tuple[Finding, ...]:
    return (
        processes.schema_current(schema_version(session), newest_version()),
        processes.processes_alike(seen),
        processes.jobs_succeed(seen),
        processes.key_readable(seen, is_needed=is_key_needed(session)),
        processes.machine_clock(seen),
        processes.disk_free(seen),
    )


def _place(kept: Mapping[Invariant, Kept], invariant: Invariant) -> Any:
    return kept[invariant].place if invariant in kept else None


def _kept(finding: Finding, look: Look, before: Mapping[Invariant, Kept], now: datetime) -> Kept:
    old = before.get(finding.invariant)
    stands = old is not None and old.finding.standing is finding.standing
    since = old.since if old is not None and stands else now
    return Kept(finding, now, since, look.places.get(finding.invariant))
