"""What a plan is made from besides the units, the plans themselves, and whether they still hold."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Index
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG, Row, table_of


class TrainingRow(Row, table=True):
    """What a member of staff is trained for; without a row: for everything, with no skill named."""

    __tablename__ = "training"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    may_start: bool
    may_second: bool
    skills: Any = Field(sa_column=Column(JsonText, nullable=False))


class ShiftWorkRow(Row, table=True):
    """The beds somebody was given for a shift, and the fixed duties in it."""

    __tablename__ = "shift_work"
    shift_id: str = Field(primary_key=True, foreign_key="shift.id")
    beds: Any = Field(sa_column=Column(JsonText, nullable=False))
    duties: Any = Field(sa_column=Column(JsonText, nullable=False))


class WardRulesRow(Row, table=True):
    """From `from_at` on a ward allows so much at once."""

    __tablename__ = "ward_rules"
    ward_id: str = Field(primary_key=True, foreign_key="ward.id")
    from_at: datetime = Field(primary_key=True, sa_type=UtcDateTime)
    rules: Any = Field(sa_column=Column(JsonText, nullable=False))
    recorded_by: str


class PlanRow(Row, table=True):
    """One version of a plan; `content` never changes, only whether it is in force.

    `accepted_n` orders what was accepted within one second: the ward's revision by which it was.
    """

    __tablename__ = "plan"
    __table_args__ = (
        Index(None, "ward_id", "accepted_at"),
        Index(None, "ward_id", "made_at"),
    )
    id: str = Field(primary_key=True)
    ward_id: str = Field(foreign_key="ward.id")
    made_at: datetime = Field(sa_type=UtcDateTime)
    content: Any = Field(sa_column=Column(JsonText, nullable=False))
    accepted_at: datetime | None = Field(sa_type=UtcDateTime)
    accepted_by: str | None
    accepted_n: int | None = Field(sa_type=LONG)
    discarded_at: datetime | None = Field(sa_type=UtcDateTime)


class PlanWatchRow(Row, table=True):
    """How the plan in force held when it was last looked at, and what would mend it."""

    __tablename__ = "plan_watch"
    ward_id: str = Field(primary_key=True, foreign_key="ward.id")
    plan_id: str = Field(foreign_key="plan.id")
    revision: int = Field(sa_type=LONG)
    looked_at: datetime = Field(sa_type=UtcDateTime)
    next_look_at: datetime | None = Field(sa_type=UtcDateTime)
    findings: Any = Field(sa_column=Column(JsonText, nullable=False))
    repair_id: str | None = Field(foreign_key="plan.id")


TRAINING: Final = table_of(TrainingRow)
SHIFT_WORK: Final = table_of(ShiftWorkRow)
WARD_RULES: Final = table_of(WardRulesRow)
PLAN: Final = table_of(PlanRow)
PLAN_WATCH: Final = table_of(PlanWatchRow)
