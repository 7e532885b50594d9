"""Facts of one unit that concern the patient's others: giving sets hung, reactions suspected."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from sqlalchemy import select

from server.domain.events import Event, sorted_live
from server.domain.facts import HungSet
from server.domain.payloads import Issued, SetChanged, SetHung
from server.domain.reaction import Elsewhere, suspicions_of
from server.domain.words import Component, Kind
from server.store.event_rows import EVENT_COLUMNS, event_of
from server.store.requests import component_asked
from server.store.sessions import AnyRow, ReadSession
from server.store.statements import IDS, in_chunks, one_of
from server.store.tables import EPISODE, EVENT

_SHARED: Final = (
    Kind.SET_HUNG,
    Kind.SET_CHANGED,
    Kind.REACTION_SUSPECTED,
    Kind.REACTION_CLOSED,
    Kind.VOIDED,
)
_ROWS: Final = (
    select(*EVENT_COLUMNS, EVENT.c.patient_id, EPISODE.c.component, EPISODE.c.bed)
    .join_from(EVENT, EPISODE, EVENT.c.episode_id == EPISODE.c.id, isouter=True)
    .where(EVENT.c.kind.in_([kind.value for kind in _SHARED]), one_of(EVENT.c.patient_id))
)
_ISSUES: Final = select(*EVENT_COLUMNS).where(
    EVENT.c.kind.in_([Kind.ISSUED.value, Kind.VOIDED.value]), one_of(EVENT.c.episode_id)
)


@dataclass(frozen=True, slots=True)
class HungFor:
    """A giving set, and the episode it was hung for."""

    episode_id: str
    hung: HungSet


@dataclass(frozen=True, slots=True)
class SharedFacts:
    """What was recorded on any unit of one patient and concerns the others, in bedside order."""

    hung: tuple[HungFor, ...] = ()
    suspected: tuple[Elsewhere, ...] = ()


def shared_facts(
    session: ReadSession, patient_ids: Iterable[str], *, known_at: datetime | None = None
) -> dict[str, SharedFacts]:
    """The shared facts of each patient that are not voided, as known at `known_at`.

    A patient without any is left out. One query for every 500 patients, and one more where a
    reaction was ever suspected.
    """
    rows: dict[str, list[AnyRow]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(patient_ids))):
        for row in session.rows(_ROWS, {IDS: chunk}):
            if known_at is None or row.recorded_at <= known_at:
                rows[row.patient_id].append(row)
    found = {patient_id: _shared(session, theirs) for patient_id, theirs in rows.items()}
    numbers = _unit_numbers(session, found.values(), known_at)
    return {
        patient_id: replace(shared, suspected=_numbered(shared.suspected, numbers))
        for patient_id, shared in found.items()
        if shared != SharedFacts()
    }


def _shared(session: ReadSession, rows: Sequence[AnyRow]) -> SharedFacts:
    units = {row.episode_id: row for row in rows}

    def component(episode_id: str) -> Component:
        return component_asked(session, episode_id, units[episode_id].component)

    live: dict[str, list[Event]] = defaultdict(list)
    hung: list[HungFor] = []
    for event in sorted_live(event_of(row) for row in rows):
        if event.episode_id is None:
            continue
        live[event.episode_id].append(event)
        if isinstance(event.payload, SetHung | SetChanged):
            drops = event.payload.drops_per_ml
            one = HungSet(event.happened_at, component(event.episode_id), drops)
            hung.append(HungFor(event.episode_id, one))
    suspected = [
        Elsewhere(
            episode_id=episode_id,
            bed=units[episode_id].bed,
            component=component(episode_id),
            unit_number=None,
            since=one.since,
            closed_at=one.closed_at,
        )
        for episode_id, events in live.items()
        for one in suspicions_of(events)
    ]
    suspected.sort(key=lambda one: (one.since, one.episode_id))
    return SharedFacts(tuple(hung), tuple(suspected))


def _unit_numbers(
    session: ReadSession, shared: Iterable[SharedFacts], known_at: datetime | None
) -> dict[str, str]:
    """The unit numbers of the units that a reaction was suspected with."""
    ids = {one.episode_id for facts in shared for one in facts.suspected}
    events: list[Event] = []
    for chunk in in_chunks(sorted(ids)):
        events += [event_of(row) for row in session.rows(_ISSUES, {IDS: chunk})]
    known = [event for event in events if known_at is None or event.recorded_at <= known_at]
    return {
        event.episode_id: event.payload.unit_number
        for event in sorted_live(known)
        if isinstance(event.payload, Issued)
        and event.episode_id is not None
        and event.payload.unit_number is not None
    }


def _numbered(suspected: Iterable[Elsewhere], numbers: dict[str, str]) -> tuple[Elsewhere, ...]:
    return tuple(replace(one, unit_number=numbers.get(one.episode_id)) for one in suspected)
