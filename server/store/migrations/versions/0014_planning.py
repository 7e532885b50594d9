"""Create what plans are made from, the plans, and how they hold."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0014"
down_revision = "0013"

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Create training, the work of shifts, the rules of wards, plans and their watch."""
    op.create_table(
        "training",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("may_start", sa.Boolean(), nullable=False),
        sa.Column("may_second", sa.Boolean(), nullable=False),
        sa.Column("skills", sa.Text(), nullable=False),
    )
    op.create_table(
        "shift_work",
        sa.Column("shift_id", sa.String(), sa.ForeignKey("shift.id"), primary_key=True),
        sa.Column("beds", sa.Text(), nullable=False),
        sa.Column("duties", sa.Text(), nullable=False),
    )
    op.create_table(
        "ward_rules",
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), primary_key=True),
        sa.Column("from_at", UtcDateTime(), primary_key=True),
        sa.Column("rules", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
    )
    op.create_table(
        "plan",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("accepted_at", UtcDateTime()),
        sa.Column("accepted_by", sa.String()),
        sa.Column("accepted_n", LONG),
        sa.Column("discarded_at", UtcDateTime()),
    )
    op.create_index("ix_plan_ward_id_accepted_at", "plan", ["ward_id", "accepted_at"])
    op.create_index("ix_plan_ward_id_made_at", "plan", ["ward_id", "made_at"])
    op.create_table(
        "plan_watch",
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), primary_key=True),
        sa.Column("plan_id", sa.String(), sa.ForeignKey("plan.id"), nullable=False),
        sa.Column("revision", LONG, nullable=False),
        sa.Column("looked_at", UtcDateTime(), nullable=False),
        sa.Column("next_look_at", UtcDateTime()),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.Column("repair_id", sa.String(), sa.ForeignKey("plan.id")),
    )
    op.add_column("ward", sa.Column("plan_id", sa.String()))
