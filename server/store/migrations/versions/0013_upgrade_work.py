"""Create what an upgrade leaves to the program, and leave it the bags issued before 0006."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"

# Which bag an episode holds is folded from its facts, which no SQL can do.
_LEAVE = sa.text(
    "INSERT INTO upgrade_work (name) SELECT 'issued_units' WHERE EXISTS (SELECT 1 FROM episode)"
)


def upgrade() -> None:
    """Create the table, with a row where episodes were there before it."""
    op.create_table("upgrade_work", sa.Column("name", sa.String(), primary_key=True))
    op.execute(_LEAVE)
