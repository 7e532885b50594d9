"""Create webhooks and their outbox; a reminder was never delivered as a whole, so drop the word."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Create both tables, and take away what only they can say."""
    _create_webhook()
    _create_delivery()
    op.drop_index("ix_reminder_raised_at", "reminder")
    op.drop_column("reminder", "delivered_at")


def _create_webhook() -> None:
    op.create_table(
        "webhook",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("stages", JsonText(), nullable=False),
        sa.Column("wards", JsonText()),
        sa.Column("secret", sa.String(), nullable=False),
        sa.Column("old_secret", sa.String()),
        sa.Column("old_secret_until", UtcDateTime()),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("paused_at", UtcDateTime()),
        sa.Column("off_at", UtcDateTime()),
        sa.Column("off_why", sa.String()),
        sa.Column("removed_at", UtcDateTime()),
        sa.Column("refusals", sa.Integer(), nullable=False),
        sa.Column("not_before", UtcDateTime()),
        sa.Column("leased_until", UtcDateTime()),
        sa.Column("leased_by", sa.String()),
    )


def _create_delivery() -> None:
    op.create_table(
        "delivery",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("webhook_id", sa.String(), sa.ForeignKey("webhook.id"), nullable=False),
        sa.Column("reminder_id", sa.String(), sa.ForeignKey("reminder.id")),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("stale_at", UtcDateTime(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_at", UtcDateTime(), nullable=False),
        sa.Column("tried_at", UtcDateTime()),
        sa.Column("answer", sa.String()),
        sa.Column("ended_at", UtcDateTime()),
        sa.UniqueConstraint("webhook_id", "reminder_id"),
    )
    waiting = sa.text("state = 'waiting'")
    op.create_index(
        "ix_delivery_next_at_webhook_id",
        "delivery",
        ["next_at", "webhook_id"],
        sqlite_where=waiting,
        postgresql_where=waiting,
    )
    op.create_index("ix_delivery_webhook_id_made_at", "delivery", ["webhook_id", "made_at"])
    op.create_index("ix_delivery_made_at", "delivery", ["made_at"])
