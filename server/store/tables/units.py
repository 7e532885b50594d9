"""Which bag each episode holds: derived from the facts, and asked before every issue."""

from datetime import datetime
from typing import Final

from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import Row, table_of


class IssuedUnitRow(Row, table=True):
    """A bag that was issued for an episode; found by its number."""

    __tablename__ = "issued_unit"
    episode_id: str = Field(primary_key=True, foreign_key="episode.id")
    number: str = Field(index=True)
    product_code: str | None
    division: str | None
    issued_at: datetime = Field(sa_type=UtcDateTime)
    freed_at: datetime | None = Field(sa_type=UtcDateTime)


ISSUED_UNIT: Final = table_of(IssuedUnitRow)
