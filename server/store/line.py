"""The giving sets hung on a patient's line, over all of the patient's units."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import select

from server.domain.facts import HungSet
from server.domain.words import Component, Kind
from server.store.sessions import ReadSession
from server.store.statements import in_chunks
from server.store.tables import EPISODE, EVENT

_HUNG: Final = (Kind.SET_HUNG.value, Kind.SET_CHANGED.value)
_ROWS: Final = (
    select(
        EVENT.c.patient_id,
        EVENT.c.episode_id,
        EVENT.c.id,
        EVENT.c.kind,
        EVENT.c.happened_at,
        EVENT.c.recorded_at,
        EVENT.c.payload,
        EPISODE.c.component,
    )
    .join_from(EVENT, EPISODE, EVENT.c.episode_id == EPISODE.c.id)
    .where(EVENT.c.kind.in_([*_HUNG, Kind.VOIDED.value]))
    .order_by(EVENT.c.happened_at, EVENT.c.position)
)


@dataclass(frozen=True, slots=True)
class HungFor:
    """A giving set, and the episode it was hung for."""

    episode_id: str
    hung: HungSet


def sets_hung(
    session: ReadSession, patient_ids: Iterable[str], *, known_at: datetime | None = None
) -> dict[str, tuple[HungFor, ...]]:
    """The giving sets of each patient that are not voided, in order, as known at `known_at`."""
    found: dict[str, list[HungFor]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(patient_ids))):
        rows = session.rows(_ROWS.where(EVENT.c.patient_id.in_(chunk)))
        known = [row for row in rows if known_at is None or row.recorded_at <= known_at]
        voided = {row.payload["event_id"] for row in known if row.kind == Kind.VOIDED}
        for row in known:
            if row.kind in _HUNG and row.id not in voided:
                hung = HungSet(row.happened_at, Component(row.component))
                found[row.patient_id].append(HungFor(row.episode_id, hung))
    return {patient_id: tuple(hung) for patient_id, hung in found.items()}
