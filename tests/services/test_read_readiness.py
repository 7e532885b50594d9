"""Whether the board can be relied on, and what fails if not."""

from datetime import timedelta
from pathlib import Path

import pytest

from server.services.read_readiness import Readiness, read_readiness
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting

PATIENCE = timedelta(seconds=10)


@pytest.mark.parametrize(
    ("seconds", "failing", "detail"),
    [(0, None, ""), (10, None, ""), (11, "tick", "The last tick succeeded 11 s ago.")],
)
def test_the_last_tick_counts_for_so_long(
    charting: Charting, seconds: int, failing: str | None, detail: str
) -> None:
    charting.tick(0)

    ready = read_readiness(charting.store, now=at(0, seconds), stale_after=PATIENCE)

    assert ready == Readiness(failing, detail, at(0))


def test_a_database_that_was_never_checked_is_no_ground(charting: Charting) -> None:
    ready = read_readiness(charting.store, now=at(0), stale_after=PATIENCE)

    assert ready == Readiness("tick", "No tick has succeeded since this database was made.")


def test_a_database_that_is_away_is_said(tmp_path: Path) -> None:
    store = Store(f"sqlite:///{tmp_path}/no such folder/wards.db")

    ready = read_readiness(store, now=at(0), stale_after=PATIENCE)

    assert ready == Readiness("database", "The database does not answer.")
