"""Requests: what each episode began with."""

from collections.abc import Iterable, Sequence
from typing import Final

from sqlalchemy import bindparam, exists, insert, select

from server.domain.request import Request
from server.domain.words import Component, Priority
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, values_of
from server.store.tables import EPISODE, EPISODE_STATE

_REQUESTS: Final = select(*columns_for(EPISODE, Request)).order_by(
    EPISODE.c.recorded_at, EPISODE.c.n, EPISODE.c.id
)
_NAMED: Final = _REQUESTS.where(one_of(EPISODE.c.id))
_OF_PATIENT: Final = _REQUESTS.where(EPISODE.c.patient_id == bindparam("of_patient"))
_NOT_WORKED_OUT: Final = (
    select(EPISODE.c.id)
    .where(~exists().where(EPISODE_STATE.c.episode_id == EPISODE.c.id))
    .order_by(EPISODE.c.id)
)


def add_requests(session: WriteSession, requests: Sequence[Request]) -> None:
    """Keep new requests. Raises `Clash` if an id is taken or patient, ward or order is unknown."""
    session.run(insert(EPISODE), [values_of(request) for request in requests])


def read_request(session: ReadSession, episode_id: str) -> Request | None:
    """The request of one episode, None if there is none of that id."""
    return read_requests(session, [episode_id]).get(episode_id)


def read_requests(session: ReadSession, episode_ids: Iterable[str]) -> dict[str, Request]:
    """The requests of these episodes, by episode id; one query for every 500."""
    found: dict[str, Request] = {}
    for chunk in in_chunks(sorted(set(episode_ids))):
        found |= {row.id: _request(row) for row in session.rows(_NAMED, {IDS: chunk})}
    return found


def requests_of_patient(session: ReadSession, patient_id: str) -> tuple[Request, ...]:
    """All requests ever made for a patient, in the order of recording."""
    return tuple(_request(row) for row in session.rows(_OF_PATIENT, {"of_patient": patient_id}))


def episode_ids_of_orders(
    session: ReadSession, order_ids: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """The episodes that each order gave, in sequence; one query for every 500 orders."""
    found: dict[str, list[str]] = {order_id: [] for order_id in order_ids}
    listed = select(EPISODE.c.order_id, EPISODE.c.id).order_by(EPISODE.c.n)
    for chunk in in_chunks(found):
        for order_id, episode_id in session.rows(listed.where(EPISODE.c.order_id.in_(chunk))):
            found[order_id].append(episode_id)
    return {order_id: tuple(ids) for order_id, ids in found.items()}


def episode_ids_after(session: ReadSession, last_id: str = "", *, limit: int) -> tuple[str, ...]:
    """The next episode ids in the order of ids: a walk over everything, piece by piece."""
    following = select(EPISODE.c.id).where(EPISODE.c.id > last_id)
    return tuple(row.id for row in session.rows(following.order_by(EPISODE.c.id).limit(limit)))


def episode_ids_not_worked_out(session: ReadSession) -> tuple[str, ...]:
    """The episodes without derived rows, in the order of their ids."""
    return tuple(row.id for row in session.rows(_NOT_WORKED_OUT))


def _request(row: AnyRow) -> Request:
    facts = row._asdict()
    facts["component"] = Component(facts["component"])
    facts["priority"] = Priority(facts["priority"])
    facts["requirements"] = tuple(facts["requirements"])
    return Request(**facts)
