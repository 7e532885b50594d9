"""Judge the processes of the board by what they say of themselves."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from server.domain.invariants.finding import Finding, Patience, broken, holds, idle, of_each
from server.domain.invariants.process import FRESH, Process
from server.domain.invariants.words import Invariant

AHEAD_SECONDS: Final = 2.0
FREE_BYTES: Final = 1_000_000_000
"""Common practice, no source."""
NOBODY: Final = "no process has said how it is"


def seen_lately(
    processes: Sequence[Process], now: datetime, patience: Patience
) -> tuple[Process, ...]:
    """The processes that said lately how they are; the others have ended."""
    return tuple(one for one in processes if now - one.seen_at <= patience.times(FRESH))


def schema_current(found: str | None, wanted: str) -> Finding:
    """Of the version of the schema that the database has, and this program's."""
    told = Invariant.SCHEMA_CURRENT
    if found == wanted:
        return holds(told, f"version {found}")
    return broken(told, f"the database has {found or 'none'}, this program wants {wanted}")


def processes_alike(processes: Sequence[Process]) -> Finding:
    """Of the versions that run."""
    told, versions = Invariant.PROCESSES_ALIKE, sorted({one.version for one in processes})
    if not processes:
        return idle(told, NOBODY)
    if len(versions) == 1:
        many = "1 process" if len(processes) == 1 else f"{len(processes)} processes"
        return holds(told, f"{many} of version {versions[0]}")
    run = (
        f"{version} on {', '.join(one.name for one in processes if one.version == version)}"
        for version in versions
    )
    return broken(told, "; ".join(run), len(versions))


def jobs_succeed(processes: Sequence[Process]) -> Finding:
    """Of the last runs of the jobs of the process that leads."""
    leading = [one for one in processes if one.leads]
    if not leading:
        return idle(Invariant.JOBS_SUCCEED, "no process has said that it leads")
    failing = [run.name for one in leading for run in one.jobs if run.failing_since is not None]
    return of_each(
        Invariant.JOBS_SUCCEED, failing, "the last run of each did", "job fails", "jobs fail"
    )


def key_readable(processes: Sequence[Process], *, is_needed: bool) -> Finding:
    """Of the key files of the processes; `is_needed`: something is stored that only it opens."""
    told = Invariant.KEY_READABLE
    without = [one.name for one in processes if not one.key]
    if not processes or (len(without) == len(processes) and not is_needed):
        return idle(told, "there is none yet; the first start makes it")
    if without or len({one.key for one in processes}) == 1:
        fine = "all have the same"
        return of_each(told, without, fine, "process has none", "processes have none")
    names = ", ".join(one.name for one in processes)
    return broken(told, f"not all of these have the same key: {names}", len(processes))


def machine_clock(processes: Sequence[Process]) -> Finding:
    """Of the clocks of the processes beside the database's."""
    told = Invariant.MACHINE_CLOCK
    ahead = {one.name: one.clock_ahead for one in processes if one.clock_ahead is not None}
    if not ahead:
        return idle(told, "the database is a file and has no clock of its own")
    wrong = [
        f"{name} is {abs(seconds):.0f} s {'ahead' if seconds > 0 else 'behind'}"
        for name, seconds in ahead.items()
        if abs(seconds) > AHEAD_SECONDS
    ]
    if wrong:
        return broken(told, "; ".join(wrong), len(wrong))
    return holds(told, "none is off by more than two seconds")


def disk_free(processes: Sequence[Process]) -> Finding:
    """Of the room where the processes write."""
    told = Invariant.DISK_FREE
    rooms = [
        (one.name, folder, free) for one in processes for folder, free in (one.free or {}).items()
    ]
    if not rooms:
        return idle(told, "no process has said where it writes")
    scarce = [
        f"{free // 1_000_000} MB in {folder} of {name}"
        for name, folder, free in rooms
        if free < FREE_BYTES
    ]
    if scarce:
        return broken(told, "only " + "; ".join(scarce), len(scarce))
    least = min(free for _, _, free in rooms)
    return holds(told, f"at least {least / 1e9:.0f} GB everywhere")
