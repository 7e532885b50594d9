"""Patients, staff, and who is on duty when."""

from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Column, Index
from sqlmodel import Field

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG, Row, table_of


class PatientRow(Row, table=True):
    """A patient as last recorded."""

    __tablename__ = "patient"
    id: str = Field(primary_key=True)
    record_number: str = Field(index=True)
    family_name: str
    given_name: str
    birth_date: date | None
    blood_group: str | None
    weight_kg: float | None
    pregnant: bool | None
    overload_risks: Any = Field(sa_column=Column(JsonText, nullable=False))
    spo2_scale: int | None
    search_text: str
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str


class PatientChangeRow(Row, table=True):
    """What was recorded of a patient, each time: insert only, so that the past can be shown."""

    __tablename__ = "patient_change"
    position: int = Field(primary_key=True, sa_type=LONG)
    patient_id: str = Field(foreign_key="patient.id", index=True)
    facts: Any = Field(sa_column=Column(JsonText, nullable=False))
    recorded_at: datetime = Field(sa_type=UtcDateTime)
    recorded_by: str


class StaffRow(Row, table=True):
    """A member of staff; one without a sign-in name is only named in the log."""

    __tablename__ = "staff"
    id: str = Field(primary_key=True)
    name: str
    role: str
    sign_in_name: str | None = Field(unique=True)
    password_hash: str | None
    active: bool
    all_wards: bool


class StaffWardRow(Row, table=True):
    """A ward that a member of staff works on."""

    __tablename__ = "staff_ward"
    staff_id: str = Field(primary_key=True, foreign_key="staff.id")
    ward_id: str = Field(primary_key=True, foreign_key="ward.id", index=True)


class ShiftRow(Row, table=True):
    """A member of staff is on duty on a ward from `starts_at` until `ends_at`."""

    __tablename__ = "shift"
    __table_args__ = (Index(None, "ward_id", "starts_at"),)
    id: str = Field(primary_key=True)
    staff_id: str = Field(foreign_key="staff.id")
    ward_id: str = Field(foreign_key="ward.id")
    starts_at: datetime = Field(sa_type=UtcDateTime)
    ends_at: datetime = Field(sa_type=UtcDateTime)


class ShiftBreakRow(Row, table=True):
    """A break inside a shift."""

    __tablename__ = "shift_break"
    shift_id: str = Field(primary_key=True, foreign_key="shift.id")
    starts_at: datetime = Field(primary_key=True, sa_type=UtcDateTime)
    ends_at: datetime = Field(sa_type=UtcDateTime)


PATIENT: Final = table_of(PatientRow)
PATIENT_CHANGE: Final = table_of(PatientChangeRow)
STAFF: Final = table_of(StaffRow)
STAFF_WARD: Final = table_of(StaffWardRow)
SHIFT: Final = table_of(ShiftRow)
SHIFT_BREAK: Final = table_of(ShiftBreakRow)
