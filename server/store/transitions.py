"""Crossings: a clock changed its state, stamped with the boundary and with when it was noticed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, select

from server.domain.words import ClockName, ClockState
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for, values_of
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


def add_transitions(session: WriteSession, transitions: Iterable[Transition]) -> None:
    """Keep crossings; nothing ever changes or removes one."""
    session.run(insert(TRANSITION), [values_of(transition) for transition in transitions])


def transitions_of(session: ReadSession, episode_id: str) -> tuple[Transition, ...]:
    """The crossings of an episode in the order in which they were noticed."""
    rows = session.rows(_TRANSITIONS.where(TRANSITION.c.episode_id == episode_id))
    return tuple(_transition(row) for row in rows)


def _transition(row: AnyRow) -> Transition:
    facts = row._asdict()
    facts["clock"] = ClockName(facts["clock"])
    facts["from_state"] = facts["from_state"] and ClockState(facts["from_state"])
    facts["to_state"] = ClockState(facts["to_state"])
    return Transition(**facts)
