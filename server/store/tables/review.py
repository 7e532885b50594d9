"""What a ward changed in how it works, so that its charts can say so. Insert only."""

from datetime import date, datetime
from typing import Final

from sqlalchemy import Index
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import Row, table_of


class WardChangeRow(Row, table=True):
    """From `day` on, by the ward's calendar, something was done differently."""

    __tablename__ = "ward_change"
    __table_args__ = (Index(None, "ward_id", "day"),)
    id: str = Field(primary_key=True)
    ward_id: str = Field(foreign_key="ward.id")
    day: date
    text: str
    recorded_by: str
    recorded_at: datetime = Field(sa_type=UtcDateTime)


class WithdrawnChangeRow(Row, table=True):
    """A change that was entered by mistake: it stays readable, and is drawn no more."""

    __tablename__ = "withdrawn_change"
    change_id: str = Field(primary_key=True, foreign_key="ward_change.id")
    withdrawn_by: str
    withdrawn_at: datetime = Field(sa_type=UtcDateTime)


WARD_CHANGE: Final = table_of(WardChangeRow)
WITHDRAWN_CHANGE: Final = table_of(WithdrawnChangeRow)
