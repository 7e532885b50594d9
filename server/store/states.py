"""How each episode stood when it was last worked out: derived, and rebuilt at will."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from sqlalchemy import select

from server.domain.words import Component, Fate, Level, Phase, Priority
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, upsert, values_of
from server.store.tables import EPISODE_STATE


@dataclass(frozen=True, slots=True)
class EpisodeState:
    """An episode as last worked out.

    `first_at` is its first fact and `open_until` the instant from which it is off the board (None:
    open end); `recorded_at` and `last_recorded_at` are when its request and its newest fact were
    recorded. At `next_change_at` something about it changes by time alone. `states` is what each
    clock ("finish:1") was seen as; `fault` says why it could not be worked out. The ward's
    revision at its last change is stamped by the commit that touches it, not by saving. A row from
    before there was a review has no `component` and no `priority` until it is worked out again.
    """

    episode_id: str
    ward_id: str
    patient_id: str
    bed: str
    phase: Phase
    level: Level
    revision: int
    recorded_at: datetime
    last_recorded_at: datetime
    first_at: datetime | None = None
    open_until: datetime | None = None
    next_change_at: datetime | None = None
    component: Component | None = None
    priority: Priority | None = None
    nurse_id: str | None = None
    removed_at: datetime | None = None
    issued_at: datetime | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None
    reassessed_at: datetime | None = None
    fate: Fate | None = None
    fate_at: datetime | None = None
    states: Mapping[str, str] = field(default_factory=dict)
    fault: str | None = None


_STATES: Final = select(*columns_for(EPISODE_STATE, EpisodeState)).where(
    one_of(EPISODE_STATE.c.episode_id)
)
_WORDS: Final = {"component": Component, "priority": Priority, "fate": Fate}
_STAMP: Final = "change_revision"


def save_states(session: WriteSession, states: Iterable[EpisodeState]) -> None:
    """Store states over what was stored before, stamped where this commit changes them."""
    rows = [values_of(one) | {_STAMP: session.stamp(one.ward_id, one.episode_id)} for one in states]
    engine, table = session.engine_name, EPISODE_STATE.name
    session.run(upsert(engine, table), [row for row in rows if row[_STAMP]])
    session.run(upsert(engine, table, (_STAMP,)), [row for row in rows if not row[_STAMP]])


def read_state(session: ReadSession, episode_id: str) -> EpisodeState | None:
    """The state of one episode, None if it was never worked out."""
    return read_states(session, [episode_id]).get(episode_id)


def read_states(session: ReadSession, episode_ids: Iterable[str]) -> dict[str, EpisodeState]:
    """The states of these episodes, by episode id; one query for every 500."""
    found: dict[str, EpisodeState] = {}
    for chunk in in_chunks(sorted(set(episode_ids))):
        rows = session.rows(_STATES, {IDS: chunk})
        found |= {row.episode_id: _state(row) for row in rows}
    return found


def _state(row: AnyRow) -> EpisodeState:
    facts = row._asdict()
    facts["phase"] = Phase(facts["phase"])
    facts["level"] = Level(facts["level"])
    for name, word in _WORDS.items():
        facts[name] = facts[name] and word(facts[name])
    return EpisodeState(**facts)
