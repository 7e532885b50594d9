"""Requests: what each episode began with."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import MISSING, Field, fields
from functools import partial
from typing import Any, Final

from sqlalchemy import Column, ColumnElement, bindparam, exists, insert, select

from server.domain.request import DamagedRequest, Request
from server.domain.words import Component
from server.store.asked import asked_of, in_parts, told, whole_or
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, values_of
from server.store.tables import EPISODE, EPISODE_STATE

_REQUESTS: Final = select(*columns_for(EPISODE, Request)).order_by(
    EPISODE.c.recorded_at, EPISODE.c.n, EPISODE.c.id
)
_NAMED: Final = _REQUESTS.where(one_of(EPISODE.c.id))
_OF_PATIENT: Final = EPISODE.c.patient_id == bindparam("of_patient")
_OF_ORDER: Final = EPISODE.c.order_id == bindparam("of_order")
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
    """The requests of these episodes, by episode id; one query for every 500.

    Of one whose row is damaged what is left of it, as a `DamagedRequest`; none where not even who
    it was for and where could be told.
    """
    found: dict[str, Request] = {}
    for chunk in in_chunks(sorted(set(episode_ids))):
        found |= in_parts(chunk, partial(_read, session), partial(_left, session))
    return found


def requests_of_patient(session: ReadSession, patient_id: str) -> tuple[Request, ...]:
    """All requests ever made for a patient, in the order of recording."""
    return _where(session, _OF_PATIENT, {"of_patient": patient_id})


def requests_of_order(session: ReadSession, order_id: str) -> tuple[Request, ...]:
    """The requests that an order gave, in sequence."""
    return _where(session, _OF_ORDER, {"of_order": order_id})


def component_asked(session: ReadSession, episode_id: str, word: str) -> Component:
    """The component of an episode that its row calls so; what else is known where it is none.

    Raises ValueError where nothing is.
    """

    def otherwise() -> Component:
        left = read_request(session, episode_id)
        return Component(word) if left is None else left.component

    return whole_or(lambda: Component(word), otherwise)


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


def _where(
    session: ReadSession, wanted: ColumnElement[bool], parameters: Mapping[str, str]
) -> tuple[Request, ...]:
    def one_by_one() -> tuple[Request, ...]:
        ids = session.rows(select(EPISODE.c.id).where(wanted), parameters)
        found = read_requests(session, [row.id for row in ids]).values()
        return tuple(sorted(found, key=lambda one: (one.recorded_at, one.n, one.id)))

    rows = partial(session.rows, _REQUESTS.where(wanted), parameters)
    return whole_or(lambda: tuple(asked_of(Request, row) for row in rows()), one_by_one)


def _read(session: ReadSession, ids: Sequence[str]) -> Mapping[str, Request]:
    return {row.id: asked_of(Request, row) for row in session.rows(_NAMED, {IDS: ids})}


def _left(session: ReadSession, episode_id: str) -> Request | None:
    """What is left of a damaged row: field by field, else of the row that was worked out."""
    left: dict[str, Any] = {}
    damaged: list[str] = []
    for field in fields(Request):
        value = _value(session, EPISODE.c[field.name], EPISODE.c.id == episode_id)
        if value is MISSING:
            damaged.append(field.name)
            value = _otherwise(session, field, episode_id)
        left[field.name] = value
    is_named = MISSING not in left.values()
    return DamagedRequest(**left, damaged=tuple(damaged)) if is_named else None


def _otherwise(session: ReadSession, field: Field[Any], episode_id: str) -> Any:
    """What a field was when the unit was last worked out, else as if nothing had been asked."""
    known: Any = MISSING
    if field.name in EPISODE_STATE.c:
        of = EPISODE_STATE.c.episode_id == episode_id
        known = _value(session, EPISODE_STATE.c[field.name], of)
    return field.default if known is MISSING else known


def _value(session: ReadSession, column: Column[Any], of: ColumnElement[bool]) -> Any:
    """One field of a row, `MISSING` where it cannot be what was asked for."""
    wanted = select(column).where(of)
    return whole_or(lambda: told(Request, column.name, session.value(wanted)), lambda: MISSING)
