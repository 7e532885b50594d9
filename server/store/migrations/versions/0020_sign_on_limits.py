"""Keep on which known device a sign-in at a provider was begun, so that each has its own limit."""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"


def upgrade() -> None:
    """Add the device, and find what was begun by it and by the browser."""
    op.add_column("sso_begun", sa.Column("known_device", sa.String()))
    op.create_index("ix_sso_begun_visit_hash", "sso_begun", ["visit_hash"])
    op.create_index("ix_sso_begun_known_device", "sso_begun", ["known_device"])
