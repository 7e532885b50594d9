"""Keep who made a token and when it was used last; create second factors."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0019"
down_revision = "0018"


def upgrade() -> None:
    """Keep who made a token and when it was used last; create second factors."""
    op.add_column("token", sa.Column("made_by", sa.String()))
    op.add_column("token", sa.Column("used_at", UtcDateTime()))
    _create_factors()
    _create_codes_and_halves()


def _create_factors() -> None:
    op.create_table(
        "second_factor",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("sealed", sa.String(), nullable=False),
        sa.Column("set_at", UtcDateTime(), nullable=False),
        sa.Column("last_step", sa.Integer(), nullable=False),
    )
    op.create_table(
        "second_factor_begun",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("sealed", sa.String(), nullable=False),
        sa.Column("begun_at", UtcDateTime(), nullable=False),
    )


def _create_codes_and_halves() -> None:
    op.create_table(
        "recovery_code",
        sa.Column("hash", sa.String(), primary_key=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("used_at", UtcDateTime()),
    )
    op.create_index("ix_recovery_code_staff_id", "recovery_code", ["staff_id"])
    op.create_table(
        "half_sign_in",
        sa.Column("hash", sa.String(), primary_key=True),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("sealed", sa.String(), nullable=False),
        sa.Column("begun_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_half_sign_in_staff_id", "half_sign_in", ["staff_id"])
    op.create_index("ix_half_sign_in_begun_at", "half_sign_in", ["begun_at"])
