"""Create states, crossings and reminders."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0004"
down_revision = "0003"

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Create states, crossings and reminders."""
    _create_episode_state()
    _create_clock_state()
    _create_transition()
    _create_reminder()


def _create_episode_state() -> None:
    op.create_table(
        "episode_state",
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), primary_key=True),
        sa.Column("ward_id", sa.String(), nullable=False),
        sa.Column("patient_id", sa.String(), nullable=False),
        sa.Column("bed", sa.String(), nullable=False),
        sa.Column("phase", sa.String(), nullable=False),
        sa.Column("level", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("first_at", UtcDateTime()),
        sa.Column("open_until", UtcDateTime()),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("last_recorded_at", UtcDateTime(), nullable=False),
        sa.Column("next_change_at", UtcDateTime()),
        sa.Column("nurse_id", sa.String()),
        sa.Column("issued_at", UtcDateTime()),
        sa.Column("started_at", UtcDateTime()),
        sa.Column("ended_at", UtcDateTime()),
        sa.Column("states", JsonText(), nullable=False),
        sa.Column("fault", sa.String()),
        sa.Column("change_revision", LONG, nullable=False),
    )
    _create_partial_index(
        "ix_episode_state_next_change_at_episode_id",
        "episode_state",
        ["next_change_at", "episode_id"],
        "next_change_at IS NOT NULL",
    )
    op.create_index("ix_episode_state_patient_id", "episode_state", ["patient_id"])
    op.create_index(
        "ix_episode_state_ward_id_change_revision", "episode_state", ["ward_id", "change_revision"]
    )
    op.create_index(
        "ix_episode_state_ward_id_last_recorded_at",
        "episode_state",
        ["ward_id", "last_recorded_at"],
    )
    op.create_index(
        "ix_episode_state_ward_id_open_until_first_at",
        "episode_state",
        ["ward_id", "open_until", "first_at"],
    )


def _create_clock_state() -> None:
    op.create_table(
        "clock_state",
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), primary_key=True),
        sa.Column("clock", sa.String(), primary_key=True),
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("ward_id", sa.String(), nullable=False),
        sa.Column("opens_at", UtcDateTime()),
        sa.Column("due_at", UtcDateTime()),
        sa.Column("limit_at", UtcDateTime()),
        sa.Column("met_at", UtcDateTime()),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("breached_at", UtcDateTime()),
    )
    _create_partial_index(
        "ix_clock_state_ward_id_breached_at",
        "clock_state",
        ["ward_id", "breached_at"],
        "breached_at IS NOT NULL",
    )


def _create_transition() -> None:
    op.create_table(
        "transition",
        sa.Column("position", LONG, primary_key=True),
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), nullable=False),
        sa.Column("clock", sa.String(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("from_state", sa.String()),
        sa.Column("to_state", sa.String(), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("noticed_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_transition_episode_id", "transition", ["episode_id"])


def _create_reminder() -> None:
    op.create_table(
        "reminder",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), nullable=False),
        sa.Column("clock", sa.String(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("repeat", sa.Integer(), nullable=False),
        sa.Column("owed_at", UtcDateTime(), nullable=False),
        sa.Column("raised_at", UtcDateTime(), nullable=False),
        sa.Column("to", sa.String(), nullable=False),
        sa.Column("delivered_at", UtcDateTime()),
        sa.Column("acknowledged_at", UtcDateTime()),
        sa.Column("acknowledged_by", sa.String()),
        sa.Column("change_revision", LONG, nullable=False),
        sa.UniqueConstraint("episode_id", "clock", "n", "stage", "repeat", "owed_at"),
    )
    _create_partial_index(
        "ix_reminder_raised_at", "reminder", ["raised_at"], "delivered_at IS NULL"
    )
    op.create_index(
        "ix_reminder_ward_id_change_revision", "reminder", ["ward_id", "change_revision"]
    )
    op.create_index("ix_reminder_ward_id_raised_at", "reminder", ["ward_id", "raised_at"])


def _create_partial_index(name: str, table: str, columns: list[str], where: str) -> None:
    only = sa.text(where)
    op.create_index(name, table, columns, sqlite_where=only, postgresql_where=only)
