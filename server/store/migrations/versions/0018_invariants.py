"""Create what the program finds out about itself: invariants, their history, and processes."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime
from server.store.tables.base import LONG

revision = "0018"
down_revision = "0017"

_OPEN = sa.text("closed_at IS NULL")


def upgrade() -> None:
    """Create the tables; at most one break of an invariant is open at a time."""
    op.create_table(
        "invariant",
        sa.Column("name", sa.String(), primary_key=True),
        sa.Column("looked_at", UtcDateTime(), nullable=False),
        sa.Column("standing", sa.String(), nullable=False),
        sa.Column("since", UtcDateTime(), nullable=False),
        sa.Column("found", sa.String(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("subjects", JsonText(), nullable=False),
        sa.Column("place", JsonText()),
    )
    op.create_table(
        "invariant_break",
        sa.Column("position", LONG, primary_key=True),
        sa.Column("invariant", sa.String(), nullable=False),
        sa.Column("opened_at", UtcDateTime(), nullable=False),
        sa.Column("closed_at", UtcDateTime()),
        sa.Column("found", sa.String(), nullable=False),
        sa.Column("most", sa.Integer(), nullable=False),
    )
    op.create_index(
        "ix_invariant_break_invariant",
        "invariant_break",
        ["invariant"],
        unique=True,
        sqlite_where=_OPEN,
        postgresql_where=_OPEN,
    )
    op.create_table(
        "process",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("started_at", UtcDateTime(), nullable=False),
        sa.Column("seen_at", UtcDateTime(), nullable=False),
        sa.Column("told", JsonText(), nullable=False),
    )
