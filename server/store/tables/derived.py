"""What is worked out from the facts, and what came of it: crossings and reminders."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Index, UniqueConstraint, text
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG, Row, table_of

_CHANGES: Final = text("next_change_at IS NOT NULL")
_BREACHES: Final = text("breached_at IS NOT NULL")
_KEPT: Final = text("state = 'met'")
_PASSED: Final = text("to_state IN ('overdue', 'missed')")
_STARTS: Final = text("started_at IS NOT NULL")


class EpisodeStateRow(Row, table=True):
    """How an episode stood when it was last worked out, and when it can next change."""

    __tablename__ = "episode_state"
    __table_args__ = (
        Index(
            None,
            "next_change_at",
            "episode_id",
            sqlite_where=_CHANGES,
            postgresql_where=_CHANGES,
        ),
        Index(None, "ward_id", "open_until", "first_at"),
        Index(None, "ward_id", "last_recorded_at"),
        Index(None, "ward_id", "issued_at"),
        Index(
            None,
            "ward_id",
            "started_at",
            sqlite_where=_STARTS,
            postgresql_where=_STARTS,
        ),
        Index(None, "ward_id", "change_revision"),
    )
    episode_id: str = Field(primary_key=True, foreign_key="episode.id")
    ward_id: str
    patient_id: str = Field(index=True)
    bed: str
    component: str | None
    priority: str | None
    phase: str
    level: str
    revision: int
    first_at: datetime | None = Field(sa_type=UtcDateTime)
    open_until: datetime | None = Field(sa_type=UtcDateTime)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    last_recorded_at: datetime = Field(sa_type=UtcDateTime)
    next_change_at: datetime | None = Field(sa_type=UtcDateTime)
    nurse_id: str | None
    removed_at: datetime | None = Field(sa_type=UtcDateTime)
    issued_at: datetime | None = Field(sa_type=UtcDateTime)
    started_at: datetime | None = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(sa_type=UtcDateTime)
    reassessed_at: datetime | None = Field(sa_type=UtcDateTime)
    fate: str | None
    fate_at: datetime | None = Field(sa_type=UtcDateTime)
    states: Any = Field(sa_column=Column(JsonText, nullable=False))
    fault: str | None
    change_revision: int = Field(sa_type=LONG)


class ClockStateRow(Row, table=True):
    """One clock as last worked out; `breached_at` is its limit where the limit was not kept.

    The two indexes hold what rates are counted from and nothing else: limits that were kept, by
    clock, and those that were not. `nurse_id` had the unit at the limit. `cause` was given for the
    breach by somebody; NULL: it is open.
    """

    __tablename__ = "clock_state"
    __table_args__ = (
        Index(
            None,
            "ward_id",
            "breached_at",
            "clock",
            "state",
            "component",
            sqlite_where=_BREACHES,
            postgresql_where=_BREACHES,
        ),
        Index(
            None,
            "ward_id",
            "clock",
            "limit_at",
            "component",
            sqlite_where=_KEPT,
            postgresql_where=_KEPT,
        ),
    )
    episode_id: str = Field(primary_key=True, foreign_key="episode.id")
    clock: str = Field(primary_key=True)
    n: int = Field(primary_key=True)
    ward_id: str
    opens_at: datetime | None = Field(sa_type=UtcDateTime)
    due_at: datetime | None = Field(sa_type=UtcDateTime)
    limit_at: datetime | None = Field(sa_type=UtcDateTime)
    met_at: datetime | None = Field(sa_type=UtcDateTime)
    state: str
    breached_at: datetime | None = Field(sa_type=UtcDateTime)
    component: str | None
    nurse_id: str | None
    cause: str | None


class TransitionRow(Row, table=True):
    """A clock changed state, stamped with the boundary, not with the notice. Insert only."""

    __tablename__ = "transition"
    __table_args__ = (Index(None, "at", sqlite_where=_PASSED, postgresql_where=_PASSED),)
    position: int = Field(primary_key=True, sa_type=LONG)
    episode_id: str = Field(foreign_key="episode.id", index=True)
    clock: str
    n: int
    from_state: str | None
    to_state: str
    at: datetime = Field(sa_type=UtcDateTime)
    noticed_at: datetime = Field(sa_type=UtcDateTime)


class ReminderRow(Row, table=True):
    """A reminder; the database allows one for each clock, stage, repeat and instant.

    The instant belongs to it: a correction can move a clock, and then it is owed anew.
    """

    __tablename__ = "reminder"
    __table_args__ = (
        UniqueConstraint("episode_id", "clock", "n", "stage", "repeat", "owed_at"),
        Index(None, "ward_id", "raised_at"),
        Index(None, "ward_id", "change_revision"),
    )
    id: str = Field(primary_key=True)
    ward_id: str = Field(foreign_key="ward.id")
    episode_id: str = Field(foreign_key="episode.id")
    clock: str
    n: int
    stage: str
    repeat: int
    owed_at: datetime = Field(sa_type=UtcDateTime)
    raised_at: datetime = Field(sa_type=UtcDateTime)
    to: str
    acknowledged_at: datetime | None = Field(sa_type=UtcDateTime)
    acknowledged_by: str | None
    change_revision: int = Field(sa_type=LONG)


EPISODE_STATE: Final = table_of(EpisodeStateRow)
CLOCK_STATE: Final = table_of(ClockStateRow)
TRANSITION: Final = table_of(TransitionRow)
REMINDER: Final = table_of(ReminderRow)
