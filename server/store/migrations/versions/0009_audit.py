"""Create the audit trail: a chain of rows that the database itself refuses to change."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0009"
down_revision = "0008"

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FILTERS = ("actor_id", "patient_id", "ward_id", "act")


def upgrade() -> None:
    """Create the trail and the heads that were noted, and guard both."""
    op.create_table(
        "audit",
        sa.Column("position", LONG, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("actor_id", sa.String(), nullable=False),
        sa.Column("actor_name", sa.String(), nullable=False),
        sa.Column("actor_role", sa.String(), nullable=False),
        sa.Column("access_id", sa.String()),
        sa.Column("act", sa.String(), nullable=False),
        sa.Column("subject_kind", sa.String()),
        sa.Column("subject_id", sa.String()),
        sa.Column("ward_id", sa.String()),
        sa.Column("patient_id", sa.String()),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("previous", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
    )
    op.create_index("ix_audit_at", "audit", ["at"])
    for column in FILTERS:
        op.create_index(f"ix_audit_{column}_at", "audit", [column, "at"])
    op.create_table(
        "audit_note",
        sa.Column("number", LONG, primary_key=True, autoincrement=False),
        sa.Column("position", LONG, nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("noted_at", UtcDateTime(), nullable=False),
    )
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    guard = _guard_sqlite if on_sqlite else _guard_postgresql
    guard("audit", "position")
    guard("audit_note", "number")


def _guard_sqlite(table: str, key: str) -> None:
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is insert only'); END"
        )
    # INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
    taken = f"SELECT 1 FROM {table} WHERE {key} = NEW.{key}"  # noqa: S608 - names from above
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS ({taken}) "
        f"BEGIN SELECT RAISE(ABORT, '{table} is insert only'); END"
    )


def _guard_postgresql(table: str, _: str) -> None:
    # The function is that of the tables of facts.
    op.execute(
        sa.text(
            f"CREATE TRIGGER {table}_insert_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
    )
