"""Each invariant at its boundary: the second before it is a fault, and the second after."""

from dataclasses import replace
from datetime import timedelta
from typing import Final

import pytest

from server.domain.invariants import (
    SAID,
    Finding,
    Invariant,
    JobRun,
    Patience,
    Process,
    Standing,
    clocks,
    facts,
    processes,
)
from server.domain.invariants.finding import lasted, named
from tests.domain.builders import at

SECOND: Final = timedelta(seconds=1)
NOW: Final = at(0)
P: Final = Patience()
GB: Final = 1_000_000_000
ONE: Final = Process("1", "ward:1", "1.0", at(-60), NOW, key="abc")
HOLDS, BROKEN, IDLE = Standing.HOLDS, Standing.BROKEN, Standing.IDLE


def _said(finding: Finding) -> tuple[Standing, str, int]:
    return finding.standing, finding.found, finding.count


def test_every_invariant_says_what_it_expects_and_what_to_do() -> None:
    assert list(SAID) == list(Invariant)
    assert [one for one in SAID.values() if not all(one)] == []


def test_a_tick_is_late_after_half_a_minute() -> None:
    late = NOW - 30 * SECOND
    told = [
        clocks.clocks_checked(beat, NOW, P, is_served=served)
        for beat, served in ((late, True), (late - SECOND, False), (None, True), (None, False))
    ]

    never = "no tick has ever succeeded on this database"
    assert [_said(one) for one in told] == [
        (HOLDS, "the last tick succeeded 30 s ago", 0),
        (BROKEN, "the last tick succeeded 31 s ago", 1),
        (BROKEN, never, 1),
        (IDLE, f"{never}; nobody serves it", 0),
    ]


def test_patience_stretches_with_that_of_a_tick() -> None:
    beat = NOW - timedelta(minutes=30)

    assert not clocks.clocks_checked(beat, NOW, Patience(60 * P.tick), is_served=True).is_broken


def test_a_unit_waits_for_a_tick_for_a_minute_at_most() -> None:
    due = [NOW - 60 * SECOND, NOW - 61 * SECOND]

    assert [_said(clocks.units_looked_at(3, since, NOW, P)) for since in due] == [
        (HOLDS, "none waits for longer than a moment", 0),
        (BROKEN, "3 units wait for a tick, the first for 61 s", 3),
    ]
    assert clocks.units_looked_at(1, due[1], NOW, P).found.startswith("1 unit waits")
    assert not clocks.units_looked_at(0, None, NOW, P).is_broken


def test_a_message_is_tried_within_five_minutes() -> None:
    due = [NOW - timedelta(minutes=5), NOW - timedelta(minutes=5, seconds=1)]

    assert [_said(clocks.messages_sent(1, 2, since, NOW, P)) for since in due] == [
        (HOLDS, "none waits for its try", 0),
        (BROKEN, "2 messages should have been tried, the first 5 min ago", 2),
    ]
    assert _said(clocks.messages_sent(0, 0, None, NOW, P)) == (IDLE, "no webhook is on", 0)
    assert clocks.messages_sent(1, 1, due[1], NOW, P).found.startswith("1 message should")


def test_sheets_and_backups_are_asked_for_only_where_somebody_makes_them() -> None:
    old, every = timedelta(minutes=7), timedelta(hours=6)
    backup = NOW - timedelta(hours=12, minutes=30)

    assert [_said(clocks.sheets_fresh(when, NOW, old)) for when in (None, NOW - old)] == [
        (IDLE, "no process writes paper sheets into a folder", 0),
        (HOLDS, "all were written 7 min ago", 0),
    ]
    assert clocks.sheets_fresh(NOW - old - SECOND, NOW, old).is_broken
    assert [
        _said(clocks.backup_fresh(made, often, NOW))
        for made, often in ((None, None), (backup, None), (backup, every), (backup - SECOND, every))
    ] == [
        (IDLE, "“fourth-hour backup” has never been run on this database", 0),
        (IDLE, "the last one was made 12 h ago; none is made every so often", 0),
        (HOLDS, "the last one was made 12 h ago", 0),
        (BROKEN, "the last one was made 12 h ago", 1),
    ]


def test_units_are_named_five_at_most_and_counted() -> None:
    many = facts.units_readable([f"e{n}" for n in range(7)])

    assert many == Finding(
        Invariant.UNITS_READABLE,
        BROKEN,
        "7 units cannot be worked out: e0, e1, e2, e3, e4 and 2 more",
        7,
        ("e0", "e1", "e2", "e3", "e4", "e5", "e6"),
    )
    assert named(["e1"]) == "e1"
    assert [
        _said(judge(["e1"]))
        for judge in (
            facts.units_readable,
            lambda ids: facts.rows_as_facts(ids, "all"),
            facts.orders_as_units,
            facts.units_have_clocks,
            clocks.reminders_raised,
        )
    ] == [
        (BROKEN, "1 unit cannot be worked out: e1", 1),
        (BROKEN, "1 unit’s row differs: e1", 1),
        (BROKEN, "1 unit’s order says something else: e1", 1),
        (BROKEN, "1 live unit has none: e1", 1),
        (BROKEN, "1 unit lacks a reminder: e1", 1),
    ]
    assert _said(facts.rows_as_facts([], "none of 3 differs")) == (HOLDS, "none of 3 differs", 0)


def test_bags_and_the_log_say_what_was_found() -> None:
    assert _said(facts.bags_held_once([])) == (HOLDS, "each is with one unit", 0)
    pairs = ["a is", "b is", "c is", "d is"]
    assert [_said(facts.bags_held_once(pairs[:count])) for count in (3, 4)] == [
        (BROKEN, "a is; b is; c is", 3),
        (BROKEN, "a is; b is; c is; and 1 more", 4),
    ]
    assert [_said(facts.log_whole(missing, 40, 90)) for missing in (0, 1, 2)] == [
        (HOLDS, "no gap up to place 90", 0),
        (BROKEN, "1 fact is missing, the first after place 40", 1),
        (BROKEN, "2 facts are missing, the first after place 40", 2),
    ]


def test_a_revision_never_falls_and_nothing_bears_one_that_has_not_been() -> None:
    assert not facts.revisions_go_on({"w1": 5}, {"w1": 5, "gone": 9}, {"w1": 5}).is_broken
    assert facts.revisions_go_on({"w1": 5, "w2": 7}, {"w1": 6}, {"w2": 8}) == Finding(
        Invariant.REVISIONS_GO_ON,
        BROKEN,
        "2 wards whose counts went back: w1, w2",
        2,
        ("w1", "w2"),
    )


def test_the_trail_is_checked_within_three_hours_while_somebody_serves() -> None:
    checked = NOW - timedelta(hours=3)
    whole = "whole up to row 8, checked 3 h ago"

    assert [
        _said(facts.audit_whole(when, fault, 8, NOW, is_served=served))
        for when, fault, served in (
            (None, "", True),
            (checked, "", True),
            (checked - SECOND, "", True),
            (checked - SECOND, "", False),
            (checked, "row 9 is missing", True),
        )
    ] == [
        (HOLDS, "it has not been checked yet", 0),
        (HOLDS, whole, 0),
        (BROKEN, whole, 1),
        (HOLDS, whole, 0),
        (BROKEN, "the chain is broken: row 9 is missing", 1),
    ]


def test_a_process_is_gone_after_a_minute() -> None:
    seen = [replace(ONE, seen_at=NOW - seconds * SECOND) for seconds in (60, 61)]

    assert processes.seen_lately(seen, NOW, P) == (seen[0],)


def test_schema_versions_and_jobs() -> None:
    two = [ONE, replace(ONE, id="2", name="ward:2", version="1.1")]
    run = JobRun("tick", NOW, 3)
    failing = [run, replace(run, name="tidy", failing_since=NOW)]

    assert [_said(processes.schema_current(found, "0018")) for found in ("0018", "0017", None)] == [
        (HOLDS, "version 0018", 0),
        (BROKEN, "the database has 0017, this program wants 0018", 1),
        (BROKEN, "the database has none, this program wants 0018", 1),
    ]
    assert [_said(processes.processes_alike(some)) for some in ([], [ONE], [ONE, ONE], two)] == [
        (IDLE, "no process has said how it is", 0),
        (HOLDS, "1 process of version 1.0", 0),
        (HOLDS, "2 processes of version 1.0", 0),
        (BROKEN, "1.0 on ward:1; 1.1 on ward:2", 2),
    ]
    assert [
        _said(processes.jobs_succeed([replace(ONE, leads=leads, jobs=tuple(jobs))]))
        for leads, jobs in ((False, failing), (True, [run]), (True, failing))
    ] == [
        (IDLE, "no process has said that it leads", 0),
        (HOLDS, "the last run of each did", 0),
        (BROKEN, "1 job fails: tidy", 1),
    ]


def test_the_key_is_asked_for_once_something_needs_it() -> None:
    without = replace(ONE, name="ward:2", key="")
    other = replace(without, key="xyz")

    assert [
        _said(processes.key_readable(some, is_needed=needed))
        for some, needed in (
            ([], True),
            ([without], False),
            ([without], True),
            ([ONE, without], False),
            ([ONE, ONE], True),
            ([ONE, other], True),
        )
    ] == [
        (IDLE, "there is none yet; the first start makes it", 0),
        (IDLE, "there is none yet; the first start makes it", 0),
        (BROKEN, "1 process has none: ward:2", 1),
        (BROKEN, "1 process has none: ward:2", 1),
        (HOLDS, "all have the same", 0),
        (BROKEN, "not all of these have the same key: ward:1, ward:2", 2),
    ]


def test_a_clock_is_off_by_more_than_two_seconds() -> None:
    def judged(*ahead: float | None) -> tuple[Standing, str, int]:
        told = [replace(ONE, name=f"ward:{n}", clock_ahead=s) for n, s in enumerate(ahead)]
        return _said(processes.machine_clock(told))

    assert [judged(None), judged(2.0, -2.0), judged(2.1, -3600.0, None)] == [
        (IDLE, "the database is a file and has no clock of its own", 0),
        (HOLDS, "none is off by more than two seconds", 0),
        (BROKEN, "ward:0 is 2 s ahead; ward:1 is 3600 s behind", 2),
    ]


def test_a_disk_is_short_below_a_gigabyte() -> None:
    def judged(free: dict[str, int] | None) -> tuple[Standing, str, int]:
        return _said(processes.disk_free([replace(ONE, free=free)]))

    assert [judged(None), judged({"/data": GB}), judged({"/data": GB - 1, "/sheets": GB})] == [
        (IDLE, "no process has said where it writes", 0),
        (HOLDS, "at least 1 GB everywhere", 0),
        (BROKEN, "only 999 MB in /data of ward:1", 1),
    ]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(-5, "0 s"), (119, "119 s"), (120, "2 min"), (7_199, "119 min"), (7_200, "2 h")],
)
def test_lengths_are_told_roughly(seconds: int, words: str) -> None:
    assert lasted(timedelta(seconds=seconds)) == words
    assert [lasted(timedelta(hours=hours)) for hours in (47, 48)] == ["47 h", "2 days"]
