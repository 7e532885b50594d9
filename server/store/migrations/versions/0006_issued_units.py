"""Create which bag each episode holds; `fourth-hour rebuild` fills it for bags issued before."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Create which bag each episode holds."""
    op.create_table(
        "issued_unit",
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), primary_key=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("product_code", sa.String()),
        sa.Column("division", sa.String()),
        sa.Column("issued_at", UtcDateTime(), nullable=False),
        sa.Column("freed_at", UtcDateTime()),
    )
    op.create_index("ix_issued_unit_number", "issued_unit", ["number"])
