"""What the program finds out about itself: how each invariant stands, and which processes run."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Index, text
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG, Row, table_of

_OPEN: Final = text("closed_at IS NULL")


class InvariantRow(Row, table=True):
    """An invariant as it stood when it was last looked at.

    `found` says it in words, `count` by how much or how many, `subjects` which. `place` is where a
    walk over everything has come to.
    """

    __tablename__ = "invariant"
    name: str = Field(primary_key=True)
    looked_at: datetime = Field(sa_type=UtcDateTime)
    standing: str
    since: datetime = Field(sa_type=UtcDateTime)
    found: str
    count: int
    subjects: Any = Field(sa_column=Column(JsonText, nullable=False))
    place: Any = Field(sa_column=Column(JsonText, nullable=True))


class InvariantBreakRow(Row, table=True):
    """One time that an invariant did not hold, `closed_at` NULL: it still does not.

    `found` is what was found first, `most` how many it were at most.
    """

    __tablename__ = "invariant_break"
    __table_args__ = (
        Index(None, "invariant", unique=True, sqlite_where=_OPEN, postgresql_where=_OPEN),
    )
    position: int = Field(primary_key=True, sa_type=LONG)
    invariant: str
    opened_at: datetime = Field(sa_type=UtcDateTime)
    closed_at: datetime | None = Field(sa_type=UtcDateTime)
    found: str
    most: int


class ProcessRow(Row, table=True):
    """One process of the board, as it said itself when it was last seen."""

    __tablename__ = "process"
    id: str = Field(primary_key=True)
    name: str
    version: str
    started_at: datetime = Field(sa_type=UtcDateTime)
    seen_at: datetime = Field(sa_type=UtcDateTime)
    told: Any = Field(sa_column=Column(JsonText, nullable=False))


INVARIANT: Final = table_of(InvariantRow)
INVARIANT_BREAK: Final = table_of(InvariantBreakRow)
PROCESS: Final = table_of(ProcessRow)
