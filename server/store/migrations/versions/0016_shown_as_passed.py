"""Find the crossings that showed a limit as passed, by when they did."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"

_PASSED = sa.text("to_state IN ('overdue', 'missed')")


def upgrade() -> None:
    """Create the index: only the crossings that showed a limit as passed are in it."""
    op.create_index(
        "ix_transition_at",
        "transition",
        ["at"],
        sqlite_where=_PASSED,
        postgresql_where=_PASSED,
    )
