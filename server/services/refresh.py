"""Work out the derived rows of units anew and store what came of it.

Called by every write in its own transaction, and by the tick for what changed by time alone.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import Final

from server.domain.crossings import Crossing, crossings
from server.domain.picture import Case, Picture
from server.domain.words import ClockState
from server.services.cases import cases_of
from server.services.derived import Derived, clock_key, derive
from server.services.errors import Unreadable
from server.services.raise_reminders import raise_owed
from server.services.set_aside import set_aside, why_not
from server.services.sound_cases import or_none, read_soundly
from server.store.clock_states import save_clocks
from server.store.requests import read_requests
from server.store.sessions import WriteSession
from server.store.states import EpisodeState, read_states, save_states
from server.store.transitions import Transition, add_transitions

NOTHING: Final[Mapping[str, Case]] = {}
UNREAD: Final = "what is stored of it cannot be read"


def refresh(
    session: WriteSession,
    episode_ids: Iterable[str],
    *,
    now: datetime,
    reaching: datetime | None = None,
    known: Mapping[str, Case] = NOTHING,
) -> dict[str, Picture]:
    """Work out these units at `now`, store them, and mark those that changed as changed.

    `reaching` is when the fact happened that was recorded on them. `known` are cases that hold what
    is new already, and are not read again. Answers those that could be worked out; who could not be
    before either is set aside. Raises `Unreadable` for a unit that only what is new stops from
    being worked out: that is not to be kept.

    A fact that comes in late can find stages of reminders already passed: they are raised here,
    for the next tick looks only at what changes after now.
    """
    unread = set(episode_ids) - known.keys()
    requests = read_requests(session, unread) if unread else {}
    states = read_states(session, [*requests, *known])
    read = partial(cases_of, session, now=now, reaching=reaching, states=states)
    cases = {**known, **read_soundly(requests, read)}
    for episode_id in states.keys() - cases.keys():
        set_aside(session, states[episode_id], UNREAD, now=now)
    before = states | _catch_up(session, cases, states, now)
    derived = list(_derive_sound(session, cases, states, now))
    store_derived(session, derived, before, now=now)
    raise_owed(session, [one.picture for one in derived], now=now)
    return {one.state.episode_id: one.picture for one in derived}


def _derive_sound(
    session: WriteSession,
    cases: Mapping[str, Case],
    states: Mapping[str, EpisodeState],
    now: datetime,
) -> Iterator[Derived]:
    for episode_id, case in cases.items():
        try:
            yield derive(case, now)
        except Exception as fault:
            state = states.get(episode_id)
            if state is None or or_none(partial(derive, _as_seen(case, state), now)) is not None:
                raise Unreadable(case.request) from fault
            set_aside(session, state, why_not(fault), now=now)


def _catch_up(
    session: WriteSession,
    cases: Mapping[str, Case],
    states: Mapping[str, EpisodeState],
    now: datetime,
) -> dict[str, EpisodeState]:
    """Note what time alone had changed before the new facts, where no tick has come by since."""
    looked = [
        or_none(partial(derive, _as_seen(cases[state.episode_id], state), now))
        for state in states.values()
        if state.next_change_at is not None and state.next_change_at <= now
        if state.episode_id in cases
    ]
    stale = [one for one in looked if one is not None]
    store_derived(session, stale, states, now=now)
    return {one.state.episode_id: one.state for one in stale}


def _as_seen(case: Case, state: EpisodeState) -> Case:
    """The case without the facts that came after its state was last worked out."""
    known = tuple(event for event in case.events if event.position <= state.revision)
    return replace(case, events=known)


def store_derived(
    session: WriteSession,
    derived: Sequence[Derived],
    before: Mapping[str, EpisodeState],
    *,
    now: datetime,
) -> None:
    """Store derived rows with the crossings they show since `before`, as it is stored."""
    for one in derived:
        previous = before.get(one.state.episode_id)
        if previous is None or _looks_different(previous, one.state):
            session.touch(one.state.ward_id, [one.state.episode_id])
    save_states(session, [one.state for one in derived])
    save_clocks(session, {one.state.episode_id: one.clocks for one in derived})
    add_transitions(session, _crossed(derived, before, now))


def _looks_different(before: EpisodeState, after: EpisodeState) -> bool:
    """Whether somebody who looks at the board could see a difference."""
    shown = ("revision", "level", "phase", "states", "fault", "nurse_id")
    return any(getattr(before, name) != getattr(after, name) for name in shown)


def _crossed(
    derived: Iterable[Derived], before: Mapping[str, EpisodeState], now: datetime
) -> list[Transition]:
    return [
        transition
        for one in derived
        for transition in _transitions(one, before.get(one.state.episode_id), now)
    ]


def _transitions(
    one: Derived, before: EpisodeState | None, now: datetime
) -> tuple[Transition, ...]:
    seen = before.states if before is not None else {}
    found: list[Crossing] = []
    for clock, _ in one.picture.clocks:
        text = seen.get(clock_key(clock))
        found += crossings(clock, None if text is None else ClockState(text), now)
    return tuple(_transition(one, crossing, now) for crossing in found)


def _transition(one: Derived, crossing: Crossing, now: datetime) -> Transition:
    return Transition(
        episode_id=one.state.episode_id,
        clock=crossing.clock.name,
        n=crossing.clock.n,
        from_state=crossing.from_state,
        to_state=crossing.to_state,
        at=crossing.at,
        noticed_at=now,
    )
