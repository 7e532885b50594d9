"""The giving sets hung on a patient's line, over all of the patient's units."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import select

from server.domain.events import sorted_live
from server.domain.facts import HungSet
from server.domain.words import Component, Kind
from server.store.event_rows import EVENT_COLUMNS, event_of
from server.store.sessions import AnyRow, ReadSession
from server.store.statements import IDS, in_chunks, one_of
from server.store.tables import EPISODE, EVENT

_ROWS: Final = (
    select(*EVENT_COLUMNS, EVENT.c.patient_id, EPISODE.c.component)
    .join_from(EVENT, EPISODE, EVENT.c.episode_id == EPISODE.c.id, isouter=True)
    .where(
        EVENT.c.kind.in_([Kind.SET_HUNG.value, Kind.SET_CHANGED.value, Kind.VOIDED.value]),
        one_of(EVENT.c.patient_id),
    )
)


@dataclass(frozen=True, slots=True)
class HungFor:
    """A giving set, and the episode it was hung for."""

    episode_id: str
    hung: HungSet


def sets_hung(
    session: ReadSession, patient_ids: Iterable[str], *, known_at: datetime | None = None
) -> dict[str, tuple[HungFor, ...]]:
    """The giving sets of each patient that are not voided, in order, as known at `known_at`.

    A patient without any is left out. One query for every 500 patients.
    """
    rows: dict[str, list[AnyRow]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(patient_ids))):
        for row in session.rows(_ROWS, {IDS: chunk}):
            if known_at is None or row.recorded_at <= known_at:
                rows[row.patient_id].append(row)
    found = {patient_id: _hung(theirs) for patient_id, theirs in rows.items()}
    return {patient_id: hung for patient_id, hung in found.items() if hung}


def _hung(rows: Iterable[AnyRow]) -> tuple[HungFor, ...]:
    components = {row.episode_id: row.component for row in rows}
    return tuple(
        HungFor(
            event.episode_id, HungSet(event.happened_at, Component(components[event.episode_id]))
        )
        for event in sorted_live(event_of(row) for row in rows)
        if event.episode_id is not None
    )
