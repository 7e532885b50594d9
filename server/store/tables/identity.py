"""Bedside identity checks that run or have run, and what each person read."""

from datetime import datetime
from typing import Final

from sqlalchemy import Index, Text, UniqueConstraint, text
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import LONG, Row, table_of

_OPEN = text("state = 'open'")


class IdentityCheckRow(Row, table=True):
    """One check of a unit, the `n`th; at most one of a unit is open.

    `seat_hash` finds the second person who signed on the first one's device.
    """

    __tablename__ = "identity_check"
    __table_args__ = (
        UniqueConstraint("episode_id", "n"),
        Index(
            None,
            "episode_id",
            unique=True,
            sqlite_where=_OPEN,
            postgresql_where=_OPEN,
        ),
    )
    id: str = Field(primary_key=True)
    episode_id: str = Field(foreign_key="episode.id")
    n: int
    ward_id: str = Field(foreign_key="ward.id")
    checkers: int
    state: str
    opened_by: str = Field(foreign_key="staff.id")
    opened_at: datetime = Field(sa_type=UtcDateTime)
    second_by: str | None = Field(foreign_key="staff.id")
    second_at: datetime | None = Field(sa_type=UtcDateTime)
    seat_hash: str | None = Field(unique=True)
    changed_at: datetime = Field(sa_type=UtcDateTime)
    closed_at: datetime | None = Field(sa_type=UtcDateTime)
    closed_by: str | None
    event_id: str | None = Field(foreign_key="event.id")


class IdentityReadingRow(Row, table=True):
    """What one person read of one item: insert only, each reading once."""

    __tablename__ = "identity_reading"
    __table_args__ = (UniqueConstraint("check_id", "staff_id", "item", "how", "value"),)
    position: int = Field(primary_key=True, sa_type=LONG)
    check_id: str = Field(foreign_key="identity_check.id")
    staff_id: str = Field(foreign_key="staff.id")
    item: str
    how: str
    value: str = Field(sa_type=Text)
    entered: str = Field(sa_type=Text)
    read_at: datetime = Field(sa_type=UtcDateTime)


IDENTITY_CHECK: Final = table_of(IdentityCheckRow)
IDENTITY_READING: Final = table_of(IdentityReadingRow)
