"""The facts: what was ordered, the episodes it gave, and the log of events. Insert only."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Index
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG, Row, table_of


class OrderRow(Row, table=True):
    """What was prescribed."""

    __tablename__ = "blood_order"
    __table_args__ = (Index(None, "ward_id", "recorded_at"),)
    id: str = Field(primary_key=True)
    patient_id: str = Field(foreign_key="patient.id", index=True)
    ward_id: str = Field(foreign_key="ward.id")
    bed: str
    component: str
    units: int
    volume_ml: float | None
    priority: str
    not_before: datetime | None = Field(sa_type=UtcDateTime)
    wanted_by: datetime | None = Field(sa_type=UtcDateTime)
    max_rate_ml_h: float | None
    duration_minutes: int | None
    requirements: Any = Field(sa_column=Column(JsonText, nullable=False))
    sample_taken_at: datetime | None = Field(sa_type=UtcDateTime)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str


class EpisodeRow(Row, table=True):
    """One unit asked for one patient, as it was asked for."""

    __tablename__ = "episode"
    id: str = Field(primary_key=True)
    patient_id: str = Field(foreign_key="patient.id", index=True)
    ward_id: str = Field(foreign_key="ward.id", index=True)
    bed: str
    component: str
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str
    volume_ml: float | None
    order_id: str | None = Field(foreign_key="blood_order.id", index=True)
    n: int
    units: int
    priority: str
    not_before: datetime | None = Field(sa_type=UtcDateTime)
    wanted_by: datetime | None = Field(sa_type=UtcDateTime)
    max_rate_ml_h: float | None
    duration_minutes: int | None
    requirements: Any = Field(sa_column=Column(JsonText, nullable=False))
    sample_taken_at: datetime | None = Field(sa_type=UtcDateTime)
    nurse_id: str | None
    requested_at: datetime | None = Field(sa_type=UtcDateTime)
    history: bool


class EventRow(Row, table=True):
    """One fact. `position` is its place in the log; `episode_id` NULL: recorded on the patient."""

    __tablename__ = "event"
    __table_args__ = (
        Index(None, "episode_id", "position"),
        Index(None, "patient_id", "kind", "happened_at"),
        Index(None, "ward_id", "position"),
    )
    position: int = Field(primary_key=True, sa_type=LONG, sa_column_kwargs={"autoincrement": False})
    id: str = Field(unique=True)
    kind: str
    happened_at: datetime = Field(sa_type=UtcDateTime)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str
    staff_id: str | None
    episode_id: str | None = Field(foreign_key="episode.id")
    patient_id: str = Field(foreign_key="patient.id")
    ward_id: str | None = Field(foreign_key="ward.id")
    payload: Any = Field(sa_column=Column(JsonText, nullable=False))


ORDER: Final = table_of(OrderRow)
EPISODE: Final = table_of(EpisodeRow)
EVENT: Final = table_of(EventRow)
