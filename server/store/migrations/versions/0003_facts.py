"""Create orders, episodes and the log of events."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0003"
down_revision = "0002"

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Create orders, episodes and the log of events."""
    _create_blood_order()
    _create_episode()
    _create_event()


def _create_blood_order() -> None:
    op.create_table(
        "blood_order",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("patient_id", sa.String(), sa.ForeignKey("patient.id"), nullable=False),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("bed", sa.String(), nullable=False),
        sa.Column("component", sa.String(), nullable=False),
        sa.Column("units", sa.Integer(), nullable=False),
        sa.Column("volume_ml", sa.Float()),
        sa.Column("priority", sa.String(), nullable=False),
        sa.Column("not_before", UtcDateTime()),
        sa.Column("wanted_by", UtcDateTime()),
        sa.Column("max_rate_ml_h", sa.Float()),
        sa.Column("duration_minutes", sa.Integer()),
        sa.Column("requirements", JsonText(), nullable=False),
        sa.Column("sample_taken_at", UtcDateTime()),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
    )
    op.create_index("ix_blood_order_patient_id", "blood_order", ["patient_id"])
    op.create_index("ix_blood_order_ward_id_recorded_at", "blood_order", ["ward_id", "recorded_at"])


def _create_episode() -> None:
    op.create_table(
        "episode",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("patient_id", sa.String(), sa.ForeignKey("patient.id"), nullable=False),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("bed", sa.String(), nullable=False),
        sa.Column("component", sa.String(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("volume_ml", sa.Float()),
        sa.Column("order_id", sa.String(), sa.ForeignKey("blood_order.id")),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("units", sa.Integer(), nullable=False),
        sa.Column("priority", sa.String(), nullable=False),
        sa.Column("not_before", UtcDateTime()),
        sa.Column("wanted_by", UtcDateTime()),
        sa.Column("max_rate_ml_h", sa.Float()),
        sa.Column("duration_minutes", sa.Integer()),
        sa.Column("requirements", JsonText(), nullable=False),
        sa.Column("sample_taken_at", UtcDateTime()),
        sa.Column("nurse_id", sa.String()),
        sa.Column("requested_at", UtcDateTime()),
        sa.Column("history", sa.Boolean(), nullable=False),
    )
    op.create_index("ix_episode_order_id", "episode", ["order_id"])
    op.create_index("ix_episode_patient_id", "episode", ["patient_id"])
    op.create_index("ix_episode_ward_id", "episode", ["ward_id"])


def _create_event() -> None:
    op.create_table(
        "event",
        sa.Column("position", LONG, primary_key=True, autoincrement=False),
        sa.Column("id", sa.String(), nullable=False, unique=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("happened_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("staff_id", sa.String()),
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id")),
        sa.Column("patient_id", sa.String(), sa.ForeignKey("patient.id"), nullable=False),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id")),
        sa.Column("payload", JsonText(), nullable=False),
    )
    op.create_index("ix_event_episode_id_position", "event", ["episode_id", "position"])
    op.create_index(
        "ix_event_patient_id_kind_happened_at", "event", ["patient_id", "kind", "happened_at"]
    )
    op.create_index("ix_event_ward_id_position", "event", ["ward_id", "position"])
