"""Find units by when they were issued, and shifts by when they begin."""

from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Create both indexes."""
    op.create_index("ix_episode_state_ward_id_issued_at", "episode_state", ["ward_id", "issued_at"])
    op.create_index("ix_shift_ward_id_starts_at", "shift", ["ward_id", "starts_at"])
