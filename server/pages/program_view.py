"""What the page of the program shows: what holds, what does not, and who runs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.invariants import SAID, Invariant, Process, Standing
from server.domain.invariants.finding import ago, lasted
from server.domain.invariants.processes import AHEAD_SECONDS
from server.domain.wording import dated_time
from server.pages.links import episode_href
from server.pages.program_summary import looked_in_words, summary_of
from server.services.read_invariants import ProgramState
from server.store.invariants import Broken, Kept

WORD: Final = {
    Standing.BROKEN: ("✕", "Broken"),
    Standing.HOLDS: ("✓", "Holds"),
    Standing.IDLE: ("–", "Not asked"),
}
OF_UNITS: Final = frozenset(
    {
        Invariant.REMINDERS_RAISED,
        Invariant.UNITS_READABLE,
        Invariant.ROWS_AS_FACTS,
        Invariant.ORDERS_AS_UNITS,
        Invariant.UNITS_HAVE_CLOCKS,
    }
)
MOST_LINKS: Final = 20
_ORDER: Final = (Standing.BROKEN, Standing.HOLDS, Standing.IDLE)
_NAMES: Final = {one.value: SAID[one].name for one in Invariant}


@dataclass(frozen=True, slots=True)
class Here:
    """The process that shows the page."""

    name: str
    version: str


@dataclass(frozen=True, slots=True)
class InvariantView:
    """One invariant: its standing as mark and word, what was found, and what to do about it."""

    key: str
    standing: str
    mark: str
    word: str
    name: str
    found: str
    since: str
    expected: str
    do: str
    units: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ProcessView:
    """One process: what it does, and what it says of its machine. `is_here`: it shows the page."""

    name: str
    is_here: bool
    does: str
    version: str
    since: str
    seen: str
    clock: str
    room: str


@dataclass(frozen=True, slots=True)
class JobView:
    """The last run of a job by the process that leads."""

    name: str
    began: str
    took: str
    mark: str
    word: str


@dataclass(frozen=True, slots=True)
class BreakView:
    """One time that an invariant did not hold."""

    name: str
    opened: str
    lasted: str
    found: str


@dataclass(frozen=True, slots=True)
class ProgramView:
    """The whole page. `kind` is that of the notice at its head: `high` where anything is wrong."""

    summary: str
    kind: str
    looked: str
    broken: tuple[InvariantView, ...]
    all: tuple[InvariantView, ...]
    processes: tuple[ProcessView, ...]
    gone: tuple[ProcessView, ...]
    jobs: tuple[JobView, ...]
    breaks: tuple[BreakView, ...]
    facts: tuple[tuple[str, str], ...]


def program_view(state: ProgramState, zone: ZoneInfo, here: Here) -> ProgramView:
    """Answer the page of a state, in the time of a zone, as the process `here` shows it."""
    kept = sorted(state.kept, key=lambda one: _ORDER.index(one.finding.standing))
    views = tuple(_invariant(one, zone, state.now) for one in kept)
    summary, kind = summary_of(state)
    leading = () if state.leader is None else (state.leader,)
    return ProgramView(
        summary,
        kind,
        looked_in_words(state),
        tuple(one for one in views if one.standing == Standing.BROKEN),
        views,
        tuple(_process(one, state, zone, here) for one in state.processes),
        tuple(_process(one, state, zone, here) for one in state.gone),
        tuple(_jobs(leading, zone, state.now)),
        tuple(_break(one, zone, state.now) for one in state.breaks),
        _facts(state, zone, here),
    )


def _invariant(kept: Kept, zone: ZoneInfo, now: datetime) -> InvariantView:
    finding, said = kept.finding, SAID[kept.finding.invariant]
    mark, word = WORD[finding.standing]
    units = finding.subjects if finding.invariant in OF_UNITS else ()
    return InvariantView(
        finding.invariant.value,
        finding.standing.value,
        mark,
        word,
        said.name,
        _sentence(finding.found),
        dated_time(kept.since, zone, now),
        said.expected,
        said.do,
        tuple((one, episode_href(one)) for one in units[:MOST_LINKS]),
    )


def _process(one: Process, state: ProgramState, zone: ZoneInfo, here: Here) -> ProcessView:
    rooms = [
        f"{free / 1e9:.1f} GB in {folder}" for folder, free in sorted((one.free or {}).items())
    ]
    return ProcessView(
        one.name,
        one.name == here.name,
        _does(one, state),
        one.version,
        dated_time(one.started_at, zone, state.now),
        f"{ago(one.seen_at, state.now)} ago",
        _clock(one.clock_ahead),
        ", ".join(rooms) or "writes to no folder",
    )


def _does(one: Process, state: ProgramState) -> str:
    """What it is there for; of one that is gone, is silent or gave the lead up, what it was."""
    is_gone = one in state.gone
    if one.leads:
        return "leads: runs the jobs" if one is state.leader else "led: ran the jobs"
    if one.may_lead:
        return "stood by to lead" if is_gone else "stands by to lead"
    return "showed pages only" if is_gone else "shows pages only"


def _clock(ahead: float | None) -> str:
    if ahead is None:
        return "the database’s"
    if abs(ahead) <= AHEAD_SECONDS:
        return "right"
    return f"{abs(ahead):.0f} s {'ahead' if ahead > 0 else 'behind'}"


def _jobs(leading: Iterable[Process], zone: ZoneInfo, now: datetime) -> Iterable[JobView]:
    for run in (run for one in leading for run in one.jobs):
        since = run.failing_since
        mark, _ = WORD[Standing.HOLDS if since is None else Standing.BROKEN]
        word = "succeeded" if since is None else f"fails since {dated_time(since, zone, now)}"
        began, took = f"{ago(run.began_at, now)} ago", f"{run.milliseconds} ms"
        yield JobView(run.name, began, took, mark, word)


def _break(one: Broken, zone: ZoneInfo, now: datetime) -> BreakView:
    closed = one.closed_at
    length = "still so" if closed is None else lasted(closed - one.opened_at)
    return BreakView(
        _NAMES.get(one.invariant, one.invariant),
        dated_time(one.opened_at, zone, now),
        length,
        _sentence(one.found),
    )


def _facts(state: ProgramState, zone: ZoneInfo, here: Here) -> tuple[tuple[str, str], ...]:
    backup = state.backup
    made = "none was ever made by “fourth-hour backup”"
    if backup is not None:
        made = f"{dated_time(backup.at, zone, state.now)}, {backup.file}"
    sheets = state.sheets_at
    return (
        ("This page is from", f"{here.name}, version {here.version}"),
        ("Schema of the database", state.schema or "none"),
        ("Last backup", made),
        (
            "Last paper sheets",
            "none are written" if sheets is None else dated_time(sheets, zone, state.now),
        ),
    )


def _sentence(text: str) -> str:
    """A sentence; one that begins with the name of a machine or a bag begins as that is written."""
    is_word = text.partition(" ")[0].isalpha()
    return f"{text[:1].upper() if is_word else text[:1]}{text[1:]}."
