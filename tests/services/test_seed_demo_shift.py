"""A simulated shift through the use cases: eight hours without waiting, and people in between."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from seed_demo.actors.in_charge import MOST_IN_HAND
from seed_demo.actors.scene import IN_HAND, Deed, scene_of
from seed_demo.rota import shift_at
from seed_demo.staff import WARD_ID
from seed_demo.tell import episode_id
from server.domain.payloads import Completed, Note
from server.domain.picture import Picture, picture
from server.domain.words import ClockState, Kind, Phase
from server.services.cases import load_cases
from server.services.enter_shift import list_shifts
from server.services.rebuild import rebuild
from server.services.record_event import Draft, record_event
from server.services.tick import tick
from server.store.requests import episode_ids_after
from server.store.store import Store
from tests.services.demo_ward import (
    CHARGE,
    MINUTE,
    START,
    copied,
    events_on,
    facts_of,
    pictures_of,
    shift_on,
    tell_to,
)

pytestmark = pytest.mark.timeout(600)  # eight hours of a ward take a while on a busy machine

STEP = 2 * MINUTE
END = START + timedelta(hours=8)


@dataclass(slots=True)
class Watched:
    """What was seen of a shift from outside."""

    store: Store
    refused: list[str] = field(default_factory=list)
    faults: int = 0
    ordered: int = 0
    most_in_hand: int = 0
    fewest_out: int = 99


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ward as it opens."""
    return tell_to(tmp_path_factory.mktemp("demo") / "told.db")


@pytest.fixture(scope="module")
def watched(told: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Watched]:
    """Eight hours of it."""
    with copied(told, tmp_path_factory.mktemp("shift")) as store:
        watched = Watched(store)
        _act(watched, END)
        yield watched


def test_nothing_the_nurses_do_is_refused(watched: Watched) -> None:
    assert (watched.refused, watched.faults) == ([], 0)


def test_nobody_ever_has_more_than_three_units_in_hand(watched: Watched) -> None:
    assert watched.most_in_hand == MOST_IN_HAND


def test_the_ward_never_runs_empty(watched: Watched) -> None:
    assert watched.fewest_out >= 5
    assert watched.ordered >= 8


def test_every_bag_that_left_the_ward_is_accounted_for(watched: Watched) -> None:
    given = [one for one in _all_units(watched.store) if one.episode.issued_at is not None]

    done = [one for one in given if one.episode.phase not in IN_HAND | {Phase.ENDED}]

    assert len(done) >= 20
    assert [one.case.request.id for one in done if one.episode.fate is None] == []


def test_limits_are_missed_and_nurses_recover(watched: Watched) -> None:
    breaches = [
        breach
        for one in _all_units(watched.store)
        for breach in one.breaches
        if breach.limit_at > START
    ]

    recovered = [breach for breach in breaches if breach.state is ClockState.MET_LATE]

    assert len(recovered) >= 5
    assert any(breach.cause for breach in recovered)


def test_units_end_in_more_than_one_way_and_are_acknowledged(watched: Watched) -> None:
    kinds = Counter(one.event.kind for one in facts_of(watched.store) if _is_later(one.event.id))

    rare = {Kind.ACKNOWLEDGED, Kind.CAUSE_GIVEN, Kind.VOLUME_READ, Kind.PAUSED, Kind.RESUMED}

    assert kinds[Kind.COMPLETED] >= 15
    assert rare - set(kinds) == set()


def test_what_was_worked_out_on_the_way_is_what_the_facts_say(watched: Watched) -> None:
    assert rebuild(watched.store, lambda: END).differed == ()


def test_the_ward_is_handed_over_and_the_next_shift_is_on_the_plan(watched: Watched) -> None:
    with watched.store.read() as session:
        shifts = list_shifts(session, CHARGE, WARD_ID, END, END + timedelta(hours=10))
    late = {one.staff_id for one in shifts if one.starts_at <= END}
    in_hand = {
        one.episode.nurse_id for one in _all_units(watched.store) if one.episode.phase in IN_HAND
    }

    assert len(late) == 7
    assert in_hand <= late


def test_the_same_seed_acts_out_the_same_shift(told: Path, tmp_path: Path) -> None:
    logs = []
    for name in ("one", "other"):
        folder = tmp_path / name
        folder.mkdir()
        with copied(told, folder) as store:
            _act(Watched(store), START + 24 * MINUTE)
            logs.append(facts_of(store))

    assert logs[0] == logs[1]
    assert len(logs[0]) > len([one for one in logs[0] if not _is_later(one.event.id)])


def test_nurses_leave_alone_what_somebody_else_works_on(told: Path, tmp_path: Path) -> None:
    unit = episode_id("cryo")
    with copied(told, tmp_path) as store:
        shift = shift_on(store)
        shift.step(START)
        _note(store, unit, START + MINUTE)
        before = events_on(store, unit, START)

        for minute in range(2, 11):
            shift.step(START + minute * MINUTE)
        left_alone = events_on(store, unit, START)
        for minute in range(12, 16):
            shift.step(START + minute * MINUTE)
        taken_up = events_on(store, unit, START)

    assert left_alone == before
    assert len(taken_up) > len(before)


def test_a_unit_that_refused_is_left_until_something_new_is_known(
    told: Path, tmp_path: Path
) -> None:
    unit = episode_id("platelets-after")
    with copied(told, tmp_path) as store:
        shift = shift_on(store)
        now = START + MINUTE
        stepped = shift.step(START)
        looked = pictures_of(store, now)["platelets-after"]
        scene = scene_of((looked,), now=now, seed=1, shift=shift_at(START, now))

        shift._do(Deed(unit, "p06", "brandao", Completed()), scene, stepped)
        before = events_on(store, unit, now)
        for minute in range(2, 9):
            shift.step(START + minute * MINUTE)
        stuck = events_on(store, unit, now)

    assert [line.partition(":")[0] for line in stepped.refused] == [
        f"completed of {unit} by brandao"
    ]
    assert stuck == before


def _act(watched: Watched, until: datetime) -> None:
    shift, now = shift_on(watched.store), START
    while now < until:
        now += STEP
        stepped = shift.step(now)
        watched.faults += tick(watched.store, now=now).faults
        watched.refused += stepped.refused
        watched.ordered += stepped.ordered
        out = [one.episode for one in stepped.looked if one.episode.phase in IN_HAND]
        load = Counter(one.nurse_id for one in out if one.nurse_id is not None)
        watched.most_in_hand = max([watched.most_in_hand, *load.values()])
        watched.fewest_out = min(watched.fewest_out, len(out))


def _all_units(store: Store) -> list[Picture]:
    with store.read() as session:
        ids = episode_ids_after(session, "", limit=1000)
        return [picture(case, END) for case in load_cases(session, ids, now=END).values()]


def _note(store: Store, unit: str, now: datetime) -> None:
    with store.write() as session:
        draft = Draft(Kind.NOTE, now, Note("I am at this bedside."))
        record_event(session, CHARGE, unit, draft, now=now)


def _is_later(event_id: str) -> bool:
    return not event_id.startswith("told-")
