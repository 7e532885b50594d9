"""Keep who made a token and when it was used last."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0019"
down_revision = "0017"


def upgrade() -> None:
    """Keep who made a token and when it was used last."""
    op.add_column("token", sa.Column("made_by", sa.String()))
    op.add_column("token", sa.Column("used_at", UtcDateTime()))
