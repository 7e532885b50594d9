"""The audit trail: rows chained one to the other, and the heads that were given out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, func, insert, select

from server.domain.audit import AuditAct, AuditEntry
from server.domain.audit_chain import BEGINNING, Head, Link, chained
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, values_of
from server.store.tables import AUDIT, AUDIT_NOTE

BATCH: Final = 2_000

_LINKS: Final = select(*columns_for(AUDIT, Link))
_HEAD: Final = select(AUDIT.c.position, AUDIT.c.hash).order_by(AUDIT.c.position.desc()).limit(1)
_AFTER: Final = (
    _LINKS.where(AUDIT.c.position > bindparam("after")).order_by(AUDIT.c.position).limit(BATCH)
)


@dataclass(frozen=True, slots=True)
class NotedHead:
    """A head that was given out to be noted elsewhere, and when."""

    head: Head
    noted_at: datetime


def append_entries(session: WriteSession, entries: Sequence[AuditEntry]) -> Head:
    """Chain entries to the end of the trail; the new head.

    The order is sound with any number of writers: a write session is the only one of its moment,
    on both engines, until it has committed.
    """
    head, links = audit_head(session), []
    for entry in entries:
        link = chained(entry, head)
        links.append(values_of(link))
        head = link.head
    session.run(insert(AUDIT), links)
    return head


def audit_head(session: ReadSession) -> Head:
    """The end of the trail, `BEGINNING` while it is empty."""
    row = session.row(_HEAD)
    return BEGINNING if row is None else Head(*row)


def audit_link(session: ReadSession, position: int) -> Link | None:
    """The row at a place of the trail, None if there is none."""
    row = session.row(_LINKS.where(AUDIT.c.position == position))
    return None if row is None else Link(*row)


def links_after(session: ReadSession, position: int) -> Iterator[Link]:
    """The rows after a place of the trail in their order, read in batches."""
    while rows := session.rows(_AFTER, {"after": position}):
        yield from (Link(*row) for row in rows)
        position = rows[-1].position


def keep_note(session: WriteSession, head: Head, at: datetime) -> None:
    """Keep that a head was given out."""
    next_number = session.value(select(func.coalesce(func.max(AUDIT_NOTE.c.number), 0) + 1))
    row = {
        "number": next_number,
        "position": head.position,
        "hash": head.hash,
        "noted_at": at,
    }
    session.run(insert(AUDIT_NOTE), row)


def last_note(session: ReadSession) -> NotedHead | None:
    """The head that was given out last, None if none was."""
    newest = select(AUDIT_NOTE.c.position, AUDIT_NOTE.c.hash, AUDIT_NOTE.c.noted_at)
    row = session.row(newest.order_by(AUDIT_NOTE.c.number.desc()).limit(1))
    return None if row is None else NotedHead(Head(row.position, row.hash), row.noted_at)


def links_of_act(session: ReadSession, act: AuditAct, position: int) -> tuple[Link, ...]:
    """The rows of one act after a place of the trail, in their order."""
    of_act = _LINKS.where(AUDIT.c.act == act.value, AUDIT.c.position > position)
    return tuple(Link(*row) for row in session.rows(of_act.order_by(AUDIT.c.position)))
