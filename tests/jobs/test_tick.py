"""The tick raises each reminder once, whatever happened to the ticks before it."""

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest
from sqlalchemy import text

from server.domain.encoding import write_instant
from server.services.tick import tick
from server.store.store import Store
from tests.api.board_api import NOON, BoardApi

Identity = tuple[str, str, int]


def minutes(count: float) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=count)


def raised(ward: BoardApi, clock: str = "start") -> list[Identity]:
    """Which reminders of a clock there are: stage, when it was owed, and the repeat."""
    found = ward.get("/api/reminders", ward_id="w1").json()
    return [(one["stage"], one["owed_at"], one["repeat"]) for one in found if one["clock"] == clock]


def every_second(ward: BoardApi, from_at: datetime, until: datetime) -> None:
    """Tick each second of a stretch of time."""
    for second in range(int((until - from_at).total_seconds()) + 1):
        tick(ward.store, now=from_at + timedelta(seconds=second))


def test_each_stage_is_raised_once_at_its_second(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    limit = NOON + minutes(30)

    every_second(ward, NOON + minutes(20) - timedelta(seconds=2), NOON + minutes(20))
    noticed = raised(ward)
    every_second(ward, limit - timedelta(seconds=1), limit + timedelta(seconds=2))

    assert noticed == [("notice", write_instant(NOON + minutes(20)), 0)]
    assert raised(ward)[1:] == [
        ("due", write_instant(limit), 0),
        ("overdue", write_instant(limit), 0),
    ]


def test_after_an_hour_without_ticks_everything_owed_is_raised_once(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    limit, back = NOON + minutes(30), NOON + minutes(80)

    first = tick(ward.store, now=back)
    again = tick(ward.store, now=back)

    expected = [
        ("notice", write_instant(NOON + minutes(20)), 0),
        ("due", write_instant(limit), 0),
        ("overdue", write_instant(limit), 0),
        ("escalate", write_instant(limit + minutes(5)), 0),
        ("second_escalate", write_instant(limit + minutes(15)), 0),
        *(("overdue", write_instant(limit + minutes(5 * n)), n) for n in range(1, 11)),
    ]
    assert sorted(raised(ward)) == sorted(expected)
    assert (first.reminders > 0, again.reminders) == (True, 0)


def test_the_gap_makes_no_difference(ward: BoardApi) -> None:
    """Ticking through an hour raises the same as one tick after it."""
    ward.episode("2")
    for episode_id in ("e1", "e2"):
        ward.record(episode_id, "issued", NOON)

    for step in range(60 * 4):
        tick(ward.store, now=NOON + timedelta(seconds=15 * step))
    tick(ward.store, now=NOON + minutes(60))

    found = ward.get("/api/reminders", ward_id="w1").json()
    one, other = (
        [
            (item["clock"], item["stage"], item["repeat"], item["owed_at"])
            for item in found
            if item["episode_id"] == episode_id
        ]
        for episode_id in ("e1", "e2")
    )
    assert sorted(one) == sorted(other)
    assert len(set(one)) == len(one)


def test_two_schedulers_at_once_do_no_harm(ward: BoardApi) -> None:
    ward.episode("2")
    ward.episode("3")
    for number in (1, 2, 3):
        ward.record(f"e{number}", "issued", NOON)
    stores = [ward.store, Store(ward.store.address)]

    with ThreadPoolExecutor(2) as pool:
        for step in range(8):
            now = NOON + minutes(20 + step)
            ticked = list(pool.map(lambda store, at=now: tick(store, now=at), stores))
            assert sum(one.faults for one in ticked) == 0
    stores[1].close()

    for number in (1, 2, 3):
        reminders = [
            one
            for one in ward.get("/api/reminders", ward_id="w1").json()
            if one["episode_id"] == f"e{number}" and one["clock"] == "start"
        ]
        assert [one["stage"] for one in reminders] == ["notice"]


def test_an_acknowledgement_ends_the_repeats(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    limit = NOON + minutes(30)
    tick(ward.store, now=limit + timedelta(seconds=1))
    ward.clock.now = limit + minutes(2)
    ward.record("e1", "acknowledged", limit + minutes(2), clock="start", staff_id="n1")

    tick(ward.store, now=limit + minutes(40))

    assert [stage for stage, _, _ in raised(ward)] == ["notice", "due", "overdue"]
    acknowledged = ward.get("/api/reminders", ward_id="w1").json()
    assert {one["acknowledged_by"] for one in acknowledged if one["clock"] == "start"} == {"n1"}


def test_a_clock_that_was_met_reminds_nobody(ward: BoardApi) -> None:
    ward.start("e1", NOON - minutes(10), minutes=5)

    tick(ward.store, now=NOON + minutes(60))

    assert raised(ward) == []


@pytest.mark.parametrize("payload", ['{"no_such_field":1}', "not json", "[]"])
def test_a_unit_that_cannot_be_worked_out_stops_no_other(ward: BoardApi, payload: str) -> None:
    ward.episode("2")
    for episode_id in ("e1", "e2"):
        ward.record(episode_id, "issued", NOON)
    poison(ward.store, "e1", payload)

    ticked = tick(ward.store, now=NOON + minutes(25))

    reminded = {one["episode_id"] for one in ward.get("/api/reminders", ward_id="w1").json()}
    assert reminded == {"e2"}
    assert ticked.faults == 1


def poison(store: Store, episode_id: str, payload: str) -> None:
    """Put a fact into the log that nothing of ours would write."""
    statement = text(
        "INSERT INTO event (position, id, kind, happened_at, recorded_at, recorded_by, "
        "episode_id, patient_id, ward_id, payload) VALUES (1000000, 'poison', 'rate_set', "
        ":at, :at, 'nobody', :episode_id, 'p1', 'w1', :payload)"
    )
    facts = {"at": write_instant(NOON), "episode_id": episode_id, "payload": payload}
    with store.write() as session:
        session.run(statement, facts)
