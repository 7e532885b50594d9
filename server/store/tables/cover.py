"""Who covers for whom."""

from datetime import datetime
from typing import Final

from sqlalchemy import Index
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import Row, table_of


class CoverRow(Row, table=True):
    """A nurse answers for the units of another on a ward, from one instant until another."""

    __tablename__ = "cover"
    __table_args__ = (Index(None, "ward_id", "until_at"),)
    id: str = Field(primary_key=True)
    ward_id: str = Field(foreign_key="ward.id")
    covering_id: str = Field(foreign_key="staff.id")
    covered_id: str = Field(foreign_key="staff.id")
    from_at: datetime = Field(sa_type=UtcDateTime)
    until_at: datetime = Field(sa_type=UtcDateTime)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str
    ended_at: datetime | None = Field(sa_type=UtcDateTime)
    ended_by: str | None


COVER: Final = table_of(CoverRow)
