"""What people had typed and not stored when they left a page: theirs alone, for a while."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, select

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, upsert
from server.store.tables import UNSENT


@dataclass(frozen=True, slots=True)
class Unsent:
    """The forms that were typed into on one page, as plain JSON values."""

    path: str
    forms: Sequence[Any]
    kept_at: datetime


def keep_unsent(session: WriteSession, staff_id: str, unsent: Unsent) -> None:
    """Keep what was typed on a page, in place of what was kept of it before."""
    row = {"staff_id": staff_id, "path": unsent.path, "forms": list(unsent.forms)}
    statement = upsert(session.engine_name, UNSENT.name)
    session.run(statement, row | {"kept_at": unsent.kept_at})


def unsent_of(session: ReadSession, staff_id: str) -> tuple[Unsent, ...]:
    """What somebody has typed and not stored, by page, the latest first."""
    theirs = select(*columns_for(UNSENT, Unsent)).where(UNSENT.c.staff_id == staff_id)
    rows = session.rows(theirs.order_by(UNSENT.c.kept_at.desc(), UNSENT.c.path))
    return tuple(Unsent(row.path, tuple(row.forms), row.kept_at) for row in rows)


def drop_unsent(session: WriteSession, staff_id: str, path: str) -> None:
    """Let go of what was typed on a page."""
    session.run(delete(UNSENT).where(UNSENT.c.staff_id == staff_id, UNSENT.c.path == path))


def forget_unsent(session: WriteSession, before: datetime) -> None:
    """Delete what was kept before an instant."""
    session.run(delete(UNSENT).where(UNSENT.c.kept_at < before))
