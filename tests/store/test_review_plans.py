"""A review reads the index of its period: what lies outside of it costs nothing."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from server.domain.review.counted import Until
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, ClockState, Component, Phase
from server.domain.workload.period import Period
from server.store.clock_states import ClockRecord, save_clocks
from server.store.requests import add_requests
from server.store.review_limits import lateness_of, tallies_of
from server.store.review_nights import starts_of, tallies_at_night
from server.store.review_stretches import NightHours
from server.store.review_units import fates_of, reassessments_of, waits_of
from server.store.sessions import ReadSession
from server.store.states import save_states
from server.store.store import Store
from tests.domain.builders import at
from tests.store.facts import a_request, a_state, analyze, plans_of

pytestmark = pytest.mark.usefixtures("ward")

MANY = 3_000
HOUR = Stretch("w1", 0, Period(at(0), at(60)), timedelta(0))
KEPT = "ix_clock_state_ward_id_clock_limit_at_component"
BROKEN = "ix_clock_state_ward_id_breached_at_clock_state_component"
ISSUED = "ix_episode_state_ward_id_issued_at"
STARTED = "ix_episode_state_ward_id_started_at"
NOW = datetime(2026, 4, 1, tzinfo=UTC)
ASKED: dict[str, tuple[Callable[[ReadSession], object], set[str]]] = {
    "tallies": (lambda session: tallies_of(session, [HOUR]), {KEPT, BROKEN}),
    "of platelets": (
        lambda session: tallies_of(session, [HOUR], Component.PLATELETS),
        {KEPT, BROKEN},
    ),
    "lateness": (lambda session: lateness_of(session, [HOUR]), {BROKEN}),
    "waits": (lambda session: waits_of(session, [HOUR], Until.END, now=NOW), {ISSUED}),
    "fates": (lambda session: fates_of(session, [HOUR]), {ISSUED}),
    "starts": (
        lambda session: starts_of(session, [HOUR], {"w1": NightHours(1200, 480)}),
        {STARTED},
    ),
    "nights": (
        lambda session: tallies_at_night(
            session, [HOUR], {"w1": NightHours(1200, 480)}, [ClockName.FINISH]
        ),
        {STARTED},
    ),
    "reassessments": (lambda session: reassessments_of(session, [HOUR]), {STARTED}),
}


@pytest.fixture
def filled(store: Store) -> Store:
    """A long history: one unit a minute, with a limit that was kept and one that was not."""
    ids = [f"u{number}" for number in range(MANY)]
    with store.write() as session:
        add_requests(session, [a_request(one, "p1") for one in ids])
        save_states(
            session,
            [
                a_state(
                    one,
                    patient_id="p1",
                    phase=Phase.CLOSED,
                    component=Component.RED_CELLS,
                    issued_at=at(number),
                    started_at=at(number + 5),
                    ended_at=at(number + 90),
                )
                for number, one in enumerate(ids)
            ],
        )
        save_clocks(session, {"": [_clock(one, n, i) for i, one in enumerate(ids) for n in (1, 2)]})
    return store


def _clock(episode_id: str, n: int, minute: int) -> ClockRecord:
    kept, limit = n == 1, at(minute + 30)
    return ClockRecord(
        episode_id=episode_id,
        ward_id="w1",
        clock=ClockName.START,
        n=n,
        opens_at=None,
        due_at=None,
        limit_at=limit,
        met_at=limit if kept else limit + timedelta(minutes=3),
        state=ClockState.MET if kept else ClockState.MET_LATE,
        breached_at=None if kept else limit,
        component=Component.RED_CELLS,
    )


def test_every_question_walks_its_index(filled: Store) -> None:
    """A file is never analyzed by itself; a server does so before there is this much."""
    if filled.address.startswith("sqlite"):
        _require_indexes(filled)
    analyze(filled)
    _require_indexes(filled)


def _require_indexes(filled: Store) -> None:
    for name, (ask, indexes) in ASKED.items():

        def look(ask: Callable[[ReadSession], object] = ask) -> None:
            with filled.read() as session:
                ask(session)

        plan = plans_of(filled, look)

        assert {index for index in indexes if index not in plan} == set(), (name, plan)
        wide = [line for line in plan.splitlines() if "SCAN" in line or "Seq Scan" in line]
        tables = [line for line in wide if "clock_state" in line or "episode_state" in line]
        assert tables == [], (name, plan)
