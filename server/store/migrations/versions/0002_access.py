"""Create tokens, sessions, wall links, kept answers and heartbeats."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Create tokens, sessions, wall links, kept answers and heartbeats."""
    _create_token()
    _create_session()
    _create_wall_link()
    _create_idempotency()
    _create_heartbeat()


def _create_token() -> None:
    op.create_table(
        "token",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False, unique=True),
        sa.Column("wards", JsonText()),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("revoked_at", UtcDateTime()),
    )


def _create_session() -> None:
    op.create_table(
        "session",
        sa.Column("hash", sa.String(), primary_key=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("expires_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_session_expires_at", "session", ["expires_at"])
    op.create_index("ix_session_staff_id", "session", ["staff_id"])


def _create_wall_link() -> None:
    op.create_table(
        "wall_link",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("hash", sa.String(), nullable=False, unique=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("revoked_at", UtcDateTime()),
    )
    op.create_index("ix_wall_link_ward_id", "wall_link", ["ward_id"])


def _create_idempotency() -> None:
    op.create_table(
        "idempotency",
        sa.Column("actor", sa.String(), primary_key=True),
        sa.Column("key", sa.String(), primary_key=True),
        sa.Column("request", sa.String(), nullable=False),
        sa.Column("body_hash", sa.String(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("response", JsonText()),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_idempotency_recorded_at", "idempotency", ["recorded_at"])


def _create_heartbeat() -> None:
    op.create_table(
        "heartbeat",
        sa.Column("name", sa.String(), primary_key=True),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("detail", sa.String()),
    )
