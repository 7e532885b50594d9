"""Keep what a review counts beside the derived rows, and what a ward changed in how it works."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0015"
down_revision = "0014"

EPISODE_COLUMNS = {
    "component": sa.String,
    "priority": sa.String,
    "removed_at": UtcDateTime,
    "reassessed_at": UtcDateTime,
    "fate": sa.String,
    "fate_at": UtcDateTime,
}
CLOCK_COLUMNS = ("component", "nurse_id", "cause")

# What they hold is folded from the facts, which no SQL can do.
_LEAVE = sa.text(
    "INSERT INTO upgrade_work (name) SELECT 'derived_rows' WHERE EXISTS (SELECT 1 FROM episode)"
)


def upgrade() -> None:
    """Add the columns and what rates are counted from; create the changes of wards."""
    for name, column_type in EPISODE_COLUMNS.items():
        op.add_column("episode_state", sa.Column(name, column_type()))
    for name in CLOCK_COLUMNS:
        op.add_column("clock_state", sa.Column(name, sa.String()))
    _create_indexes()
    _create_changes()
    op.execute(_LEAVE)


def _create_indexes() -> None:
    op.drop_index("ix_clock_state_ward_id_breached_at", "clock_state")
    _create_partial_index(
        "clock_state",
        ["ward_id", "breached_at", "clock", "state", "component"],
        "breached_at IS NOT NULL",
    )
    _create_partial_index(
        "clock_state", ["ward_id", "clock", "limit_at", "component"], "state = 'met'"
    )
    _create_partial_index("episode_state", ["ward_id", "started_at"], "started_at IS NOT NULL")


def _create_partial_index(table: str, columns: list[str], where: str) -> None:
    only = sa.text(where)
    name = f"ix_{table}_{'_'.join(columns)}"
    op.create_index(name, table, columns, sqlite_where=only, postgresql_where=only)


def _create_changes() -> None:
    op.create_table(
        "ward_change",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
    )
    op.create_index("ix_ward_change_ward_id_day", "ward_change", ["ward_id", "day"])
    op.create_table(
        "withdrawn_change",
        sa.Column("change_id", sa.String(), sa.ForeignKey("ward_change.id"), primary_key=True),
        sa.Column("withdrawn_by", sa.String(), nullable=False),
        sa.Column("withdrawn_at", UtcDateTime(), nullable=False),
    )
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    guard = _guard_sqlite if on_sqlite else _guard_postgresql
    guard("ward_change", "id")
    guard("withdrawn_change", "change_id")


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
