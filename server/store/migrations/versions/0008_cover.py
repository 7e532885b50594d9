"""Create covers: who answers for whose units during a break."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Create covers."""
    op.create_table(
        "cover",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("covering_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("covered_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("from_at", UtcDateTime(), nullable=False),
        sa.Column("until_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("ended_at", UtcDateTime()),
        sa.Column("ended_by", sa.String()),
    )
    op.create_index("ix_cover_ward_id_until_at", "cover", ["ward_id", "until_at"])
