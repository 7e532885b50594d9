"""The frame of every chain: what the limit was counted from, and how it came out."""

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Final

from server.domain.clock import BREACHED
from server.domain.why.link import Fact, Link
from server.domain.why.telling import Telling
from server.domain.wording import span, whole_minutes
from server.domain.words import ClockName, ClockState

_DONE: Final[dict[ClockName, str]] = {
    ClockName.START: "Started",
    ClockName.RETURN: "Sent back",
    ClockName.FINISH: "Ended",
    ClockName.BASELINE_CHECK: "A full set was taken",
    ClockName.FIRST_CHECK: "A full set was taken",
    ClockName.RUNNING_CHECK: "A full set was taken",
    ClockName.REACTION_CHECK: "A full set was taken",
    ClockName.END_CHECK: "A full set was taken",
    ClockName.SET_CHANGE: "The giving set was changed",
    ClockName.FATE: "The fate was recorded",
}
_UNDONE: Final[dict[ClockName, str]] = {
    ClockName.START: "It was never started",
    ClockName.RETURN: "It was neither sent back nor started",
    ClockName.FINISH: "Its end is not recorded",
    ClockName.BASELINE_CHECK: "No full set was taken",
    ClockName.FIRST_CHECK: "No full set was taken",
    ClockName.RUNNING_CHECK: "No full set was taken",
    ClockName.REACTION_CHECK: "No full set was taken",
    ClockName.END_CHECK: "No full set was taken",
    ClockName.SET_CHANGE: "The giving set was not changed",
    ClockName.FATE: "No fate is recorded",
}


def counted(telling: Telling) -> Iterator[Link]:
    """What the limit was counted from, and when the act was owed."""
    clock = telling.asked.clock
    at, words = _COUNTED[clock.name](telling, clock.opens_at or telling.limit_at)
    limit, due = telling.time(telling.limit_at), clock.due_at
    owed = f"by {limit}"
    if due is not None and due < telling.limit_at:
        owed = f"at {telling.time(due)}, at the latest {limit}"
    yield Link(Fact.COUNTED, at, f"{words} {owed}.")


def outcome(telling: Telling) -> Iterator[Link]:
    """How it came out: done late, or not done. What was done in time and charted late has none."""
    clock, state, limit = telling.asked.clock, telling.asked.state, telling.limit_at
    if state is ClockState.MET_LATE and clock.met_at is not None:
        late = span(max(1, whole_minutes(limit, clock.met_at)))
        done = f"{_DONE[clock.name]} at {telling.time(clock.met_at)}"
        words = f"{done}, {late} past the limit {telling.time(limit)}."
        yield Link(Fact.DONE_LATE, clock.met_at, words)
    elif clock.met_at is None and state in BREACHED:
        owed = ", and is still owed." if state is ClockState.OVERDUE else "."
        words = f"{_UNDONE[clock.name]} by the limit {telling.time(limit)}{owed}"
        yield Link(Fact.NOT_DONE, limit, words)


Anchor = tuple[datetime, str]


def _from(words: str) -> Callable[[Telling, datetime], Anchor]:
    """Counted from when the clock opened: `Issued at 14:00: to be started`."""
    return lambda telling, at: (at, words.format(telling.time(at)))


def _finish(telling: Telling, _: datetime) -> Anchor:
    """The earliest of the instants that the policy counts from, or an expiry before all of them."""
    episode, policy = telling.episode, telling.policy
    origin = telling.limit_at - policy.finish_within[episode.request.component]
    instants = {
        "Started": episode.started_at,
        "Spiked": episode.spiked_at,
        "Received": episode.received_at,
        "Issued": episode.issued_at,
        "Out of storage": episode.removed_at,
    }
    found = next((name for name, at in instants.items() if at == origin), None)
    if found is None:
        begun = episode.issued_at or episode.started_at or telling.limit_at
        return begun, "Its label ran out before its hours were over: all of it to be in"
    return origin, f"{found} at {telling.time(origin)}: all of it to be in"


def _baseline(telling: Telling, opens: datetime) -> Anchor:
    limit = telling.limit_at
    return (
        opens,
        f"Started at {telling.time(limit)}: a full set was owed from {telling.time(opens)} on,",
    )


def _first(telling: Telling, opens: datetime) -> Anchor:
    start = telling.episode.started_at or opens
    return start, f"Started at {telling.time(start)}: the first check was due"


def _running(telling: Telling, opens: datetime) -> Anchor:
    """From the set before, or from when the first check was due where there was none."""
    due = telling.asked.clock.due_at or opens
    last = due - telling.policy.running_every
    taken = any(event.happened_at == last for _, event in telling.asked.full_sets)
    if taken:
        return last, f"The set before was taken at {telling.time(last)}: the next one was due"
    words = f"No set yet at {telling.time(last)}, when the first check was due: the next was due"
    return last, words


_COUNTED: Final[dict[ClockName, Callable[[Telling, datetime], Anchor]]] = {
    ClockName.START: _from("Issued at {}: to be started"),
    ClockName.RETURN: _from("Out of storage since {}: to be started or sent back"),
    ClockName.FINISH: _finish,
    ClockName.BASELINE_CHECK: _baseline,
    ClockName.FIRST_CHECK: _first,
    ClockName.RUNNING_CHECK: _running,
    ClockName.REACTION_CHECK: _from("A reaction was suspected: a full set was due"),
    ClockName.END_CHECK: _from("Ended at {}: the end observations were due"),
    ClockName.SET_CHANGE: _from("The giving set hung since {}: to be changed"),
    ClockName.FATE: _from("The bag moved last at {}: its fate was to be recorded"),
}
