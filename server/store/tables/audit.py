"""The audit trail: who did, saw or took away what, each row chained to the one before."""

from datetime import datetime
from typing import Final

from sqlalchemy import Index, Text
from sqlmodel import Field

from server.store.columns import UtcDateTime
from server.store.tables.base import LONG, Row, table_of


class AuditRow(Row, table=True):
    """One act of one person or program. Insert only; `hash` covers the row and `previous`.

    `at` and `detail` are kept as the very text that was hashed, so that both engines, and an
    auditor with tools of their own, read the same characters.
    """

    __tablename__ = "audit"
    __table_args__ = (
        Index(None, "actor_id", "at"),
        Index(None, "patient_id", "at"),
        Index(None, "ward_id", "at"),
        Index(None, "act", "at"),
    )
    position: int = Field(primary_key=True, sa_type=LONG, sa_column_kwargs={"autoincrement": False})
    at: str = Field(index=True)
    actor_id: str
    actor_name: str
    actor_role: str
    access_id: str | None
    act: str
    subject_kind: str | None
    subject_id: str | None
    ward_id: str | None
    patient_id: str | None
    detail: str = Field(sa_type=Text)
    previous: str
    hash: str


class AuditNoteRow(Row, table=True):
    """A head of the trail that was given out to be noted elsewhere. Insert only."""

    __tablename__ = "audit_note"
    number: int = Field(primary_key=True, sa_type=LONG, sa_column_kwargs={"autoincrement": False})
    position: int = Field(sa_type=LONG)
    hash: str
    noted_at: datetime = Field(sa_type=UtcDateTime)


AUDIT: Final = table_of(AuditRow)
AUDIT_NOTE: Final = table_of(AuditNoteRow)
