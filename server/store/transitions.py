"""Crossings: a clock changed its state, stamped with the boundary and with when it was noticed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, select

from server.domain.words import ClockName, ClockState
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, values_of
from server.store.tables import TRANSITION


@dataclass(frozen=True, slots=True)
class Transition:
    """A clock went over at `at`; `from_state` None: the clock was new."""

    episode_id: str
    clock: ClockName
    n: int
    from_state: ClockState | None
    to_state: ClockState
    at: datetime
    noticed_at: datetime


_TRANSITIONS: Final = select(*columns_for(TRANSITION, Transition)).order_by(TRANSITION.c.position)

_OF_EPISODES: Final = _TRANSITIONS.where(one_of(TRANSITION.c.episode_id))


def add_transitions(session: WriteSession, transitions: Iterable[Transition]) -> None:
    """Keep crossings; nothing ever changes or removes one."""
    session.run(insert(TRANSITION), [values_of(transition) for transition in transitions])


def transitions_of(session: ReadSession, episode_id: str) -> tuple[Transition, ...]:
    """The crossings of an episode in the order in which they were noticed."""
    rows = session.rows(_TRANSITIONS.where(TRANSITION.c.episode_id == episode_id))
    return tuple(_transition(row) for row in rows)


def transitions_of_episodes(
    session: ReadSession, episode_ids: Iterable[str]
) -> dict[str, tuple[Transition, ...]]:
    """The crossings of these episodes, by episode id, in the order they were noticed."""
    found: dict[str, list[Transition]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(episode_ids))):
        for row in session.rows(_OF_EPISODES, {IDS: chunk}):
            found[row.episode_id].append(_transition(row))
    return {episode_id: tuple(listed) for episode_id, listed in found.items()}


def _transition(row: AnyRow) -> Transition:
    facts = row._asdict()
    facts["clock"] = ClockName(facts["clock"])
    facts["from_state"] = facts["from_state"] and ClockState(facts["from_state"])
    facts["to_state"] = ClockState(facts["to_state"])
    return Transition(**facts)
