"""Create identity checks and what each person read in them."""

import sqlalchemy as sa
from alembic import op

from server.store.columns import UtcDateTime

revision = "0007"
down_revision = "0006"

LONG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
OPEN = sa.text("state = 'open'")
READING = "identity_reading"
SAME = ("check_id", "staff_id", "item", "how", "value")


def upgrade() -> None:
    """Create identity checks and what each person read in them."""
    _create_check()
    _create_reading()
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    (_guard_sqlite if on_sqlite else _guard_postgresql)()


def _create_check() -> None:
    op.create_table(
        "identity_check",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("episode_id", sa.String(), sa.ForeignKey("episode.id"), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("ward_id", sa.String(), sa.ForeignKey("ward.id"), nullable=False),
        sa.Column("checkers", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("opened_by", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("opened_at", UtcDateTime(), nullable=False),
        sa.Column("second_by", sa.String(), sa.ForeignKey("staff.id")),
        sa.Column("second_at", UtcDateTime()),
        sa.Column("seat_hash", sa.String(), unique=True),
        sa.Column("changed_at", UtcDateTime(), nullable=False),
        sa.Column("closed_at", UtcDateTime()),
        sa.Column("closed_by", sa.String()),
        sa.Column("event_id", sa.String(), sa.ForeignKey("event.id")),
        sa.UniqueConstraint("episode_id", "n"),
    )
    op.create_index(
        "ix_identity_check_episode_id",
        "identity_check",
        ["episode_id"],
        unique=True,
        sqlite_where=OPEN,
        postgresql_where=OPEN,
    )


def _create_reading() -> None:
    op.create_table(
        READING,
        sa.Column("position", LONG, primary_key=True),
        sa.Column("check_id", sa.String(), sa.ForeignKey("identity_check.id"), nullable=False),
        sa.Column("staff_id", sa.String(), sa.ForeignKey("staff.id"), nullable=False),
        sa.Column("item", sa.String(), nullable=False),
        sa.Column("how", sa.String(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("entered", sa.Text(), nullable=False),
        sa.Column("read_at", UtcDateTime(), nullable=False),
        sa.UniqueConstraint(*SAME),
    )


def _guard_sqlite() -> None:
    for act in ("UPDATE", "DELETE"):
        _refuse_on_sqlite(act.lower(), f"BEFORE {act} ON {READING}")
    # INSERT OR REPLACE deletes the row in its way without asking the trigger on DELETE.
    same = " AND ".join(f"{name} = NEW.{name}" for name in SAME)
    taken = f"SELECT 1 FROM {READING} WHERE position = NEW.position OR ({same})"  # noqa: S608 - our names
    _refuse_on_sqlite("replace", f"BEFORE INSERT ON {READING} WHEN EXISTS ({taken})")


def _refuse_on_sqlite(act: str, when: str) -> None:
    op.execute(
        f"CREATE TRIGGER {READING}_no_{act} {when} "
        f"BEGIN SELECT RAISE(ABORT, '{READING} is insert only'); END"
    )


def _guard_postgresql() -> None:
    op.execute(
        sa.text(
            f"CREATE TRIGGER {READING}_insert_only BEFORE UPDATE OR DELETE OR TRUNCATE "
            f"ON {READING} FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
    )
