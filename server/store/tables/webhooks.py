"""Webhooks, and the outbox of what goes to them."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Index, UniqueConstraint, text
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import Row, table_of

_WAITING: Final = text("state = 'waiting'")


class WebhookRow(Row, table=True):
    """An address that reminders are sent to; `wards` NULL: of every ward.

    The secrets are sealed under the board's key. Whoever holds the lease sends, nobody else.
    """

    __tablename__ = "webhook"
    id: str = Field(primary_key=True)
    name: str
    address: str
    stages: Any = Field(sa_column=Column(JsonText, nullable=False))
    wards: Any = Field(sa_column=Column(JsonText, nullable=True))
    secret: str
    old_secret: str | None
    old_secret_until: datetime | None = Field(sa_type=UtcDateTime)
    made_at: datetime = Field(sa_type=UtcDateTime)
    made_by: str
    paused_at: datetime | None = Field(sa_type=UtcDateTime)
    off_at: datetime | None = Field(sa_type=UtcDateTime)
    off_why: str | None
    removed_at: datetime | None = Field(sa_type=UtcDateTime)
    refusals: int
    not_before: datetime | None = Field(sa_type=UtcDateTime)
    leased_until: datetime | None = Field(sa_type=UtcDateTime)
    leased_by: str | None


class DeliveryRow(Row, table=True):
    """One message for one webhook, `reminder_id` NULL: a trial. Its id is the same on every try."""

    __tablename__ = "delivery"
    __table_args__ = (
        UniqueConstraint("webhook_id", "reminder_id"),
        Index(None, "next_at", "webhook_id", sqlite_where=_WAITING, postgresql_where=_WAITING),
        Index(None, "webhook_id", "made_at"),
        Index(None, "made_at"),
    )
    id: str = Field(primary_key=True)
    webhook_id: str = Field(foreign_key="webhook.id")
    reminder_id: str | None = Field(foreign_key="reminder.id")
    ward_id: str = Field(foreign_key="ward.id")
    made_at: datetime = Field(sa_type=UtcDateTime)
    stale_at: datetime = Field(sa_type=UtcDateTime)
    state: str
    tries: int
    next_at: datetime = Field(sa_type=UtcDateTime)
    tried_at: datetime | None = Field(sa_type=UtcDateTime)
    answer: str | None
    ended_at: datetime | None = Field(sa_type=UtcDateTime)


WEBHOOK: Final = table_of(WebhookRow)
DELIVERY: Final = table_of(DeliveryRow)
