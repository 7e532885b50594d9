"""Create the links to accounts at a provider, the sign-ins begun there, and how each ends."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    """Create links, begun sign-ins, and what a session of a provider is ended with there."""
    op.create_table(
        "sso_link",
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), primary_key=True),
        sa.Column("issuer", sa.String(), nullable=False),
        sa.Column("account", sa.String(), nullable=False),
        sa.Column("subject", sa.String()),
        sa.Column("entered_at", UtcDateTime(), nullable=False),
        sa.Column("entered_by", sa.String(), nullable=False),
        sa.Column("linked_at", UtcDateTime()),
        sa.UniqueConstraint("issuer", "account"),
        sa.UniqueConstraint("issuer", "subject"),
    )
    op.create_table(
        "sso_begun",
        sa.Column("state_hash", sa.String(), primary_key=True),
        sa.Column("visit_hash", sa.String(), nullable=False),
        sa.Column("next_path", sa.String(), nullable=False),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id")),
        sa.Column("begun_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_sso_begun_staff_id", "sso_begun", ["staff_id"])
    op.create_index("ix_sso_begun_begun_at", "sso_begun", ["begun_at"])
    session = sa.ForeignKey("session.id", ondelete="CASCADE")
    op.create_table(
        "sso_session",
        sa.Column("session_id", sa.String(), session, primary_key=True),
        sa.Column("id_token", sa.String(), nullable=False),
    )
