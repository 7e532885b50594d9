"""The lead: one process at a time, lost with the connection, taken over by the next that asks."""

from collections.abc import Iterator

import pytest

from server.store.store import Store
from tests.databases import THROW_OTHERS_OUT, PostgresServer


@pytest.fixture
def other(store: Store) -> Iterator[Store]:
    """Another process on the same database, as far as the database can tell."""
    opened = Store(store.address)
    yield opened
    opened.close()


def test_one_has_it_and_the_next_takes_over(store: Store, other: Store) -> None:
    first = [store.lead.held(), other.lead.held(), store.lead.held()]
    store.lead.give_up()
    then = [other.lead.held(), store.lead.held()]
    other.close()

    assert first == [True, False, True]
    assert then == [True, False]
    assert store.lead.held()


def test_what_was_never_held_is_given_up_without_a_word(
    store: Store, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level("INFO", logger="server.store.lead"):
        store.lead.give_up()
        store.lead.held()
        store.lead.held()

    assert [one.message for one in caplog.records] == ["this process runs the jobs"]


def test_a_server_that_ends_the_session_ends_the_lead(
    postgres: PostgresServer, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    # Every question is asked: half a second of being sure would only make the test slower.
    monkeypatch.setattr("server.store.lead.SURE_SECONDS", 0.0)
    store, other = Store(postgres.empty()), Store(postgres.migrated)
    before = [store.lead.held(), other.lead.held()]
    postgres.run(THROW_OTHERS_OUT, postgres.migrated)
    after = [store.lead.held(), other.lead.held(), other.lead.held(), store.lead.held()]
    store.close()
    other.close()

    assert before == [True, False]
    # Each finds its connection gone first; then the second one is the first to ask again.
    assert after == [False, False, True, False]
    assert [one.message for one in caplog.records] == [
        "this process no longer runs the jobs: its connection is gone"
    ]


def test_nobody_leads_while_the_database_is_away(postgres: PostgresServer) -> None:
    gone = Store(postgres.migrated.replace("/test_", "/never_"))

    assert not gone.lead.held()
    gone.close()
