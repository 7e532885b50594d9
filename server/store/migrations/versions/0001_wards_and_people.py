"""Create wards, patients, staff and shifts."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0001"
down_revision = None

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Create wards, patients, staff and shifts."""
    _create_ward()
    _create_policy_version()
    _create_ward_policy()
    _create_patient()
    _create_patient_change()
    _create_staff()
    _create_staff_ward()
    _create_shift()
    _create_shift_break()


def _create_ward() -> None:
    op.create_table(
        "ward",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("timezone", sa.String(), nullable=False),
        sa.Column("temperature_unit", sa.String(), nullable=False),
        sa.Column("next_contact", sa.String()),
        sa.Column("revision", LONG, nullable=False),
        sa.Column("checked_at", UtcDateTime()),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
    )


def _create_policy_version() -> None:
    op.create_table(
        "policy_version",
        sa.Column("version", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
    )


def _create_ward_policy() -> None:
    op.create_table(
        "ward_policy",
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), primary_key=True),
        sa.Column("from_at", UtcDateTime(), primary_key=True),
        sa.Column(
            "policy_version", sa.String(), sa.ForeignKey("policy_version.version"), nullable=False
        ),
    )


def _create_patient() -> None:
    op.create_table(
        "patient",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("record_number", sa.String(), nullable=False),
        sa.Column("family_name", sa.String(), nullable=False),
        sa.Column("given_name", sa.String(), nullable=False),
        sa.Column("birth_date", sa.Date()),
        sa.Column("blood_group", sa.String()),
        sa.Column("weight_kg", sa.Float()),
        sa.Column("pregnant", sa.Boolean()),
        sa.Column("overload_risks", JsonText(), nullable=False),
        sa.Column("spo2_scale", sa.Integer()),
        sa.Column("search_text", sa.String(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
    )
    op.create_index("ix_patient_record_number", "patient", ["record_number"])


def _create_patient_change() -> None:
    op.create_table(
        "patient_change",
        sa.Column("position", LONG, primary_key=True),
        sa.Column("patient_id", sa.String(), sa.ForeignKey("patient.id"), nullable=False),
        sa.Column("facts", JsonText(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
    )
    op.create_index("ix_patient_change_patient_id", "patient_change", ["patient_id"])


def _create_staff() -> None:
    op.create_table(
        "staff",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("sign_in_name", sa.String(), unique=True),
        sa.Column("password_hash", sa.String()),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("all_wards", sa.Boolean(), nullable=False),
    )


def _create_staff_ward() -> None:
    op.create_table(
        "staff_ward",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), primary_key=True),
    )
    op.create_index("ix_staff_ward_ward_id", "staff_ward", ["ward_id"])


def _create_shift() -> None:
    op.create_table(
        "shift",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("starts_at", UtcDateTime(), nullable=False),
        sa.Column("ends_at", UtcDateTime(), nullable=False),
    )


def _create_shift_break() -> None:
    op.create_table(
        "shift_break",
        sa.Column("shift_id", sa.String(), sa.ForeignKey("shift.id"), primary_key=True),
        sa.Column("starts_at", UtcDateTime(), primary_key=True),
        sa.Column("ends_at", UtcDateTime(), nullable=False),
    )
