"""A server that does not answer in time is away, and is asked anew afterwards."""

from time import monotonic

import pytest
from sqlalchemy import create_engine, text

from server.store.answering import answer_within
from server.store.engines import open_engines
from server.store.errors import Away
from server.store.failures import told_plainly
from tests.databases import PostgresServer

SHORT: float = 1.0


def test_a_statement_that_takes_too_long_loses_its_connection_and_no_other(
    postgres: PostgresServer,
) -> None:
    engines, begun = open_engines(postgres.migrated, answer_seconds=SHORT), monotonic()
    try:
        with (
            pytest.raises(Away, match=r"no answer from the database within 1 s"),
            told_plainly(),
            engines.reading.connect() as connection,
        ):
            connection.execute(text("SELECT pg_sleep(60)"))
        assert SHORT <= monotonic() - begun < 60
        with engines.reading.connect() as connection:
            assert connection.execute(text("SELECT 1")).scalar() == 1
    finally:
        engines.dispose()


def test_a_question_outside_of_a_transaction_waits_for_less(postgres: PostgresServer) -> None:
    engine = create_engine(postgres.migrated)
    answer_within(engine, 60, SHORT)
    try:
        with engine.connect() as connection:
            in_one = connection.execute(text("SELECT pg_sleep(1.5), 1")).one()
        alone = engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        with (
            pytest.raises(Away, match=r"no answer from the database within 1 s"),
            told_plainly(),
            alone as connection,
        ):
            connection.execute(text("SELECT pg_sleep(60)"))
    finally:
        engine.dispose()

    assert in_one[1] == 1


def test_without_a_bound_it_may_take_as_long_as_it_likes(postgres: PostgresServer) -> None:
    engines = open_engines(postgres.migrated, answer_seconds=None)
    try:
        with engines.reading.connect() as connection:
            answer = connection.execute(text("SELECT pg_sleep(0.5), 1")).one()
    finally:
        engines.dispose()

    assert answer[1] == 1
