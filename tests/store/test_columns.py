"""Both engines keep the very same values."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import Column, MetaData, Table, insert, select, text
from sqlalchemy.exc import StatementError

from server.store.columns import JsonText, UtcDateTime
from server.store.store import Store

BOX = Table("box", MetaData(), Column("at", UtcDateTime()), Column("facts", JsonText()))
PLUS_TWO = timezone(timedelta(hours=2))


@pytest.fixture(autouse=True)
def _box(store: Store) -> Iterator[None]:
    BOX.create(store.engines.writing)
    yield
    BOX.drop(store.engines.writing)


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        (datetime(2026, 3, 3, 10, tzinfo=UTC), datetime(2026, 3, 3, 10, tzinfo=UTC)),
        (datetime(2026, 3, 3, 12, tzinfo=PLUS_TWO), datetime(2026, 3, 3, 10, tzinfo=UTC)),
        (datetime(2026, 3, 3, 10, 0, 0, 999_999, UTC), datetime(2026, 3, 3, 10, tzinfo=UTC)),
        (datetime(1, 1, 1, tzinfo=UTC), datetime(1, 1, 1, tzinfo=UTC)),
        (datetime(9999, 12, 31, tzinfo=UTC), datetime(9999, 12, 31, tzinfo=UTC)),
        (None, None),
    ],
    ids=["utc", "offset", "fraction", "first", "last", "none"],
)
def test_an_instant_comes_back_in_utc(
    store: Store, given: datetime | None, kept: datetime | None
) -> None:
    with store.write() as session:
        session.run(insert(BOX), {"at": given})

    with store.read() as session:
        answered = session.value(select(BOX.c.at))

    assert (answered, answered and answered.tzinfo) == (kept, kept and UTC)


def test_a_naive_instant_is_refused(store: Store) -> None:
    naive = datetime(2026, 3, 3, 10)  # noqa: DTZ001 - the mistake that is meant

    with pytest.raises(StatementError, match="without an offset"), store.write() as session:
        session.run(insert(BOX), {"at": naive})


def test_instants_are_compared_as_time_and_not_as_text(store: Store) -> None:
    instants = [datetime(year, 3, 3, 10, tzinfo=UTC) for year in (999, 2026, 2027)]
    with store.write() as session:
        session.run(insert(BOX), [{"at": at} for at in instants])

    limit = datetime(2026, 3, 3, 12, tzinfo=PLUS_TWO)
    with store.read() as session:
        rows = session.rows(select(BOX.c.at).where(BOX.c.at <= limit).order_by(BOX.c.at))

    assert [row.at for row in rows] == instants[:2]


@pytest.mark.parametrize("facts", [{"name": "Ásgeir", "n": [1, 2.5, None, True]}, [], "", None])
def test_json_values_come_back_as_they_were(store: Store, facts: object) -> None:
    with store.write() as session:
        session.run(insert(BOX), {"facts": facts})

    with store.read() as session:
        assert session.value(select(BOX.c.facts)) == facts


def test_no_json_value_is_null(store: Store) -> None:
    with store.write() as session:
        session.run(insert(BOX), {"facts": None})

    with store.read() as session:
        assert session.value(text("SELECT count(*) FROM box WHERE facts IS NULL")) == 1
