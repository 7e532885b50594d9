"""Every invariant is broken for real in a database, found, named, kept, and closed once mended."""

from datetime import timedelta
from typing import Final

import pytest
from sqlalchemy import text

from server.domain.audit import AuditAct
from server.domain.invariants import Invariant, JobRun, Patience, Process, Standing
from server.services.actor import SYSTEM, Actor
from server.services.audit import note
from server.services.backups import Backup, last_backup, note_backup
from server.services.check_audit import keep_checking
from server.services.look_at_invariants import keep_invariants
from server.services.read_invariants import (
    ProgramState,
    broken_now,
    broken_when_looked_at,
    read_program_state,
)
from server.services.sheet_folder import SHEETS_BEAT
from server.store.heartbeat import Beat, keep_beat
from server.store.processes import keep_process, read_processes
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import enter, pager
from tests.services.people import ADMINISTRATOR
from tests.services.poison import CANNOT_BE_READ, tamper, write_past

NOW: Final = at(31)
PATIENCE: Final = Patience()
HERE: Final = Process(
    "here",
    "ward:1",
    "1.0",
    at(0),
    NOW,
    may_lead=True,
    leads=True,
    clock_ahead=0.5,
    key="abc",
    free={"/data": 5_000_000_000},
    jobs=(JobRun("tick", NOW, 3),),
)
ISSUED: Final = "2026-03-03 10:00 UTC"
ASK: Final = "ask the laboratory which is right"
# What is written past the program, by the invariant that it breaks, and what is said of it.
TAMPERING: Final[dict[Invariant, tuple[str, str]]] = {
    Invariant.CLOCKS_CHECKED: (
        "UPDATE heartbeat SET at = '2026-03-03T10:30:00Z' WHERE name = 'tick'",
        "the last tick succeeded 60 s ago",
    ),
    Invariant.UNITS_LOOKED_AT: (
        "UPDATE episode_state SET next_change_at = '2026-03-03T10:29:00Z' WHERE episode_id = 'e1'",
        "1 unit waits for a tick, the first for 2 min",
    ),
    Invariant.REMINDERS_RAISED: (
        "DELETE FROM reminder WHERE episode_id = 'e1'",
        "1 unit lacks a reminder: e1",
    ),
    Invariant.ROWS_AS_FACTS: (
        "UPDATE episode_state SET bed = '99' WHERE episode_id = 'e1'",
        "1 unit’s row differs: e1",
    ),
    Invariant.UNITS_HAVE_CLOCKS: (
        "UPDATE episode_state SET next_change_at = NULL WHERE episode_id = 'e1'",
        "1 live unit has none: e1",
    ),
    Invariant.BAGS_HELD_ONCE: (
        "UPDATE issued_unit SET number = 'A1', product_code = NULL, division = NULL",
        f"A1 is held twice at once, by e1 since {ISSUED} and e2 since {ISSUED}: {ASK}",
    ),
    Invariant.LOG_WHOLE: (
        "DELETE FROM event WHERE position = 3",
        "1 fact is missing, the first after place 0",
    ),
    Invariant.REVISIONS_GO_ON: (
        "UPDATE ward SET revision = revision - 1 WHERE id = 'w1'",
        "1 ward whose count went back: w1",
    ),
    Invariant.SCHEMA_CURRENT: (
        "UPDATE alembic_version SET version_num = '9999'",
        "the database has 9999, this program wants {newest}",
    ),
}


def chart(charting: Charting) -> None:
    """Two units that run since 10 min and have a bag each, looked at and served at 31 min."""
    for number in (1, 2):
        charting.open(f"e{number}", f"p{number}")
        charting.issue(f"e{number}", unit_number=f"A99992112345{number}")
        charting.observe(5, f"p{number}")
        charting.start(f"e{number}")
    charting.tick(NOW)
    say(charting.store, HERE)
    keep_checking(charting.store, now=NOW)


def say(store: Store, *said: Process) -> None:
    with store.write() as session:
        for one in said:
            keep_process(session, one)


def look(store: Store, minute: float = 31) -> dict[Invariant, str]:
    """What does not hold, in words."""
    found = keep_invariants(store, now=at(minute), patience=PATIENCE)
    return {one.invariant: one.found for one in found if one.is_broken}


def state_at(store: Store, minute: float = 31, actor: Actor = ADMINISTRATOR) -> ProgramState:
    with store.read() as session:
        return read_program_state(session, actor, now=at(minute), patience=PATIENCE)


@ON_BOTH_ENGINES
def test_on_a_sound_board_nothing_is_broken_and_what_nobody_does_is_not_asked(
    ward: Charting,
) -> None:
    assert look(ward.store) == {}

    state = state_at(ward.store)
    assert [one.finding.invariant for one in state.kept] == list(Invariant)
    assert {
        one.finding.invariant for one in state.kept if one.finding.standing is Standing.IDLE
    } == {
        Invariant.MESSAGES_SENT,
        Invariant.SHEETS_FRESH,
        Invariant.BACKUP_FRESH,
    }
    assert (state.looked_at, state.is_stale, state.breaks) == (NOW, False, ())
    assert (state.processes, state.gone) == ((HERE,), ())


@pytest.mark.parametrize("invariant", TAMPERING)
@ON_BOTH_ENGINES
def test_what_was_broken_past_the_program_is_named_and_counted(
    ward: Charting, invariant: Invariant
) -> None:
    statement, words = TAMPERING[invariant]
    look(ward.store)
    with ward.store.read() as session:
        newest = session.value(text("SELECT version_num FROM alembic_version"))
    try:
        write_past(ward.store, statement)
        found = look(ward.store)
    finally:  # the next test begins with the schema as it is
        write_past(ward.store, f"UPDATE alembic_version SET version_num = '{newest}'")  # noqa: S608

    assert found[invariant] == words.format(newest=newest)
    with ward.store.read() as session:
        told = {one.invariant for one in broken_now(session, now=NOW, patience=PATIENCE)}
    assert invariant in told


def test_a_unit_that_cannot_be_read_is_named_before_a_tick_comes_upon_it(ward: Charting) -> None:
    tamper(ward.store, CANNOT_BE_READ)

    assert look(ward.store) == {Invariant.UNITS_READABLE: "1 unit cannot be worked out: e1"}


def test_a_row_that_cannot_be_read_is_named_and_hides_no_other(ward: Charting) -> None:
    write_past(ward.store, "UPDATE episode_state SET phase = 'levitating' WHERE episode_id = 'e1'")
    write_past(ward.store, "UPDATE episode_state SET bed = '99' WHERE episode_id = 'e2'")

    assert look(ward.store)[Invariant.ROWS_AS_FACTS] == "2 units’ rows differ: e1, e2"


def test_a_message_that_nobody_sends_and_one_that_waits_for_a_paused_webhook(
    ward: Charting,
) -> None:
    enter(ward.store, pager())
    ward.tick(36)  # the first check is late: a reminder
    say(ward.store, Process("here", "ward:1", "1.0", at(0), at(42), key="abc"))
    ward.tick(42)

    stuck = look(ward.store, 42)
    write_past(ward.store, "UPDATE webhook SET paused_at = '2026-03-03T10:41:00Z'")

    assert stuck[Invariant.MESSAGES_SENT].endswith("have been tried, the first 6 min ago")
    assert Invariant.MESSAGES_SENT not in look(ward.store, 42)


def test_what_processes_say_of_themselves_is_judged(ward: Charting) -> None:
    other = Process(
        "other",
        "ward:2",
        "1.1",
        at(0),
        NOW,
        leads=True,
        clock_ahead=-7.0,
        key="xyz",
        free={"/data": 999_000_000},
        jobs=(JobRun("deliver", NOW, 3, failing_since=at(30)),),
    )
    say(ward.store, other)

    found = look(ward.store)

    assert found == {
        Invariant.PROCESSES_ALIKE: "1.0 on ward:1; 1.1 on ward:2",
        Invariant.JOBS_SUCCEED: "1 job fails: deliver",
        Invariant.KEY_READABLE: "not all of these have the same key: ward:1, ward:2",
        Invariant.MACHINE_CLOCK: "ward:2 is 7 s behind",
        Invariant.DISK_FREE: "only 999 MB in /data of ward:2",
    }
    with ward.store.read() as session:
        assert read_processes(session) == (HERE, other)


def test_one_that_is_gone_is_not_judged_and_forgotten_after_a_day(ward: Charting) -> None:
    say(ward.store, Process("old", "ward:0", "0.9", at(0), at(29)))

    assert look(ward.store) == {}
    assert [one.id for one in state_at(ward.store).gone] == ["old"]

    keep_invariants(ward.store, now=at(29) + timedelta(days=1, seconds=1), patience=PATIENCE)
    with ward.store.read() as session:
        assert [one.id for one in read_processes(session)] == ["here"]


def test_sheets_backups_and_the_trail_that_nobody_sees_to(ward: Charting) -> None:
    with ward.store.write() as session:
        keep_beat(session, Beat(SHEETS_BEAT, at(20)))
        note(session, SYSTEM, AuditAct.VIEWED, now=NOW)
    note_backup(ward.store, Backup(at(-120), "b.db", timedelta(minutes=30)))
    with ward.store.write() as session:
        session.run(text("DROP TRIGGER audit_no_update"))
        session.run(text("UPDATE audit SET actor_name = 'somebody else'"))
    keep_checking(ward.store, now=NOW)

    found = look(ward.store)

    assert (found[Invariant.SHEETS_FRESH], found[Invariant.BACKUP_FRESH]) == (
        "all were written 11 min ago",
        "the last one was made 2 h ago",
    )
    assert found[Invariant.AUDIT_WHOLE].startswith("the chain is broken: row ")
    with ward.store.read() as session:
        assert last_backup(session) == Backup(at(-120), "b.db", timedelta(minutes=30))


@ON_BOTH_ENGINES
def test_a_break_is_opened_once_grows_and_is_closed(ward: Charting) -> None:
    bed = "UPDATE episode_state SET bed = '{}' WHERE episode_id IN ({})"
    look(ward.store, 31)
    write_past(ward.store, bed.format("99", "'e1'"))
    look(ward.store, 31.5)
    write_past(ward.store, bed.format("99", "'e1', 'e2'"))
    ward.tick(32)
    look(ward.store, 32)
    broken = state_at(ward.store, 32)
    with ward.store.read() as session:
        counted = broken_when_looked_at(session)
    write_past(ward.store, bed.format("4", "'e1', 'e2'"))
    look(ward.store, 32.5)
    mended = state_at(ward.store, 32.5)

    (kept,) = broken.broken
    (opened,) = broken.breaks
    assert (kept.since, kept.finding.count, kept.finding.subjects) == (at(31.5), 2, ("e1", "e2"))
    assert (opened.opened_at, opened.closed_at, opened.most) == (at(31.5), None, 2)
    assert (opened.found, counted) == ("1 unit’s row differs: e1", 1)
    assert mended.broken == ()
    assert [(one.closed_at, one.most) for one in mended.breaks] == [(at(32.5), 2)]
    assert {
        one.since for one in mended.kept if one.finding.invariant is kept.finding.invariant
    } == {at(32.5)}
