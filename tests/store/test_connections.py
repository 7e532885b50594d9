"""Connections that are kept: what a server threw out meanwhile is not used again."""

import pytest

from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.store import Store
from tests.databases import THROW_OTHERS_OUT, PostgresServer
from tests.domain.builders import at

BEAT = Beat("tick", at(0))


def look(store: Store) -> Beat | None:
    """Read once."""
    with store.read() as session:
        return last_beat(session, "tick")


@pytest.mark.parametrize("address", ["postgresql"], indirect=True)
def test_whoever_was_thrown_out_meanwhile_goes_on_over_another(
    store: Store, postgres: PostgresServer
) -> None:
    before = look(store)
    with store.write() as session:
        keep_beat(session, BEAT)
    postgres.run(THROW_OTHERS_OUT, postgres.migrated)

    with store.write() as session:
        keep_beat(session, BEAT)

    assert (before, look(store)) == (None, BEAT)
