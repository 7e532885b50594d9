"""Create badges, PINs, failed tries, known devices and unsent forms; make sessions anew.

A session is no fact: everybody signs in once more after this step.
"""

import sqlalchemy as sa
from alembic import op

from server.store.columns import JsonText, UtcDateTime

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Create badges, PINs, failed tries, known devices and unsent forms; make sessions anew."""
    op.drop_table("session")
    _create_session()
    _create_badge_and_pin()
    _create_try_and_device()
    _create_unsent()


def _create_session() -> None:
    op.create_table(
        "session",
        sa.Column("hash", sa.String(), primary_key=True),
        sa.Column("id", sa.String(), nullable=False, unique=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("device", sa.String(), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("seen_at", UtcDateTime(), nullable=False),
        sa.Column("expires_at", UtcDateTime(), nullable=False),
        sa.Column("locked_at", UtcDateTime()),
    )
    op.create_index("ix_session_expires_at", "session", ["expires_at"])
    op.create_index("ix_session_staff_id", "session", ["staff_id"])


def _create_badge_and_pin() -> None:
    op.create_table(
        "badge",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("hash", sa.String(), nullable=False, unique=True),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
    )
    op.create_table(
        "pin",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("set_at", UtcDateTime(), nullable=False),
    )


def _create_try_and_device() -> None:
    op.create_table(
        "sign_in_try",
        sa.Column("subject", sa.String(), primary_key=True),
        sa.Column("failed", sa.Integer(), nullable=False),
        sa.Column("last_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_sign_in_try_last_at", "sign_in_try", ["last_at"])
    op.create_table(
        "known_device",
        sa.Column("device_hash", sa.String(), primary_key=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("last_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_known_device_last_at", "known_device", ["last_at"])
    op.create_index("ix_known_device_staff_id", "known_device", ["staff_id"])


def _create_unsent() -> None:
    op.create_table(
        "unsent",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("path", sa.String(), primary_key=True),
        sa.Column("forms", JsonText(), nullable=False),
        sa.Column("kept_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_unsent_kept_at", "unsent", ["kept_at"])
