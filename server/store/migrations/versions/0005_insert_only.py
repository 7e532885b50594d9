"""Have the database itself refuse to change or delete a fact."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

INSERT_ONLY = {
    "event": "position",
    "episode": "id",
    "transition": "position",
    "blood_order": "id",
    "patient_change": "position",
    "policy_version": "version",
}


def upgrade() -> None:
    """Guard the tables of facts."""
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    guard = _guard_sqlite if on_sqlite else _guard_postgresql
    if not on_sqlite:
        op.execute(REFUSE)
    for table, key in INSERT_ONLY.items():
        guard(table, key)


def _guard_sqlite(table: str, key: str) -> None:
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is insert only'); END"
        )
    # INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
    taken = f"SELECT 1 FROM {table} WHERE {key} = NEW.{key}"  # noqa: S608 - names from above
    if table == "event":
        taken += " OR id = NEW.id"
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS ({taken}) "
        f"BEGIN SELECT RAISE(ABORT, '{table} is insert only'); END"
    )


def _guard_postgresql(table: str, _: str) -> None:
    op.execute(
        sa.text(
            f"CREATE TRIGGER {table}_insert_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
    )


REFUSE = """
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is insert only', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END
$$
"""
