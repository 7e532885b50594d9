"""Who may come in, answers already given, and signs of life."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import Row, table_of


class TokenRow(Row, table=True):
    """A token of another program or a person; `wards` NULL: all. Only its hash is kept.

    `made_by` NULL: from before that was kept.
    """

    __tablename__ = "token"
    id: str = Field(primary_key=True)
    name: str
    role: str
    hash: str = Field(unique=True)
    wards: Any = Field(sa_column=Column(JsonText, nullable=True))
    made_at: datetime = Field(sa_type=UtcDateTime)
    revoked_at: datetime | None = Field(sa_type=UtcDateTime)
    made_by: str | None
    used_at: datetime | None = Field(sa_type=UtcDateTime)


class SessionRow(Row, table=True):
    """A person who is signed in. `device` is where, in words; `seen_at` is their last act."""

    __tablename__ = "session"
    hash: str = Field(primary_key=True)
    id: str = Field(unique=True)
    staff_id: str = Field(foreign_key="staff.id", index=True)
    device: str
    made_at: datetime = Field(sa_type=UtcDateTime)
    seen_at: datetime = Field(sa_type=UtcDateTime)
    expires_at: datetime = Field(sa_type=UtcDateTime, index=True)
    locked_at: datetime | None = Field(sa_type=UtcDateTime)


class WallLinkRow(Row, table=True):
    """A link that opens the wall view of one ward without a sign-in."""

    __tablename__ = "wall_link"
    id: str = Field(primary_key=True)
    hash: str = Field(unique=True)
    ward_id: str = Field(foreign_key="ward.id", index=True)
    made_at: datetime = Field(sa_type=UtcDateTime)
    revoked_at: datetime | None = Field(sa_type=UtcDateTime)


class IdempotencyRow(Row, table=True):
    """The first answer to a keyed request of an actor."""

    __tablename__ = "idempotency"
    actor: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    request: str
    body_hash: str
    status: int
    response: Any = Field(sa_column=Column(JsonText, nullable=True))
    recorded_at: datetime = Field(sa_type=UtcDateTime, index=True)


class HeartbeatRow(Row, table=True):
    """When a job last did its work."""

    __tablename__ = "heartbeat"
    name: str = Field(primary_key=True)
    at: datetime = Field(sa_type=UtcDateTime)
    detail: str | None


TOKEN: Final = table_of(TokenRow)
SESSION: Final = table_of(SessionRow)
WALL_LINK: Final = table_of(WallLinkRow)
IDEMPOTENCY: Final = table_of(IdempotencyRow)
HEARTBEAT: Final = table_of(HeartbeatRow)
