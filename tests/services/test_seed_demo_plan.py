"""The simulated shift follows the accepted plan, mends it, and goes on without one."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import pytest

from seed_demo.actors.plan import plan
from seed_demo.actors.planning import InForce, Planning, planning
from seed_demo.actors.scene import Deed, Scene, scene_of
from seed_demo.first_plans import tell_plans
from seed_demo.rota import shift_at
from seed_demo.simulated_shift import SimulatedShift
from seed_demo.staff import WARD_ID
from seed_demo.tell import episode_id
from seed_demo.told import CONFIRMED
from server.domain.payloads import (
    Assigned,
    Available,
    IdentityChecked,
    Inspected,
    Issued,
    Received,
    SetHung,
    Started,
)
from server.domain.picture import Case
from server.domain.plan.plan import Plan
from server.domain.plan.planned import Planned
from server.domain.plan.proposal import Maker, Objective, Proposal, Start, Status
from server.domain.words import Phase, Priority
from server.planning.solve import available
from server.services.enter_day import read_limits
from server.services.tick import tick
from server.services.watch_plans import watch_plans
from server.store.plans import PlanWatch, accepted_plans, read_watches
from server.store.store import Store
from tests.domain.builders import FULL, SOUND, Fact, case, look
from tests.services.demo_scenes import FREE, HER, at, of_patient
from tests.services.demo_ward import (
    CHARGE,
    MINUTE,
    START,
    board_of,
    copied,
    facts_of,
    pictures_of,
    tell_to,
)

AWAY = "platelets-wanted"
END = START + timedelta(minutes=36)
READY = case((-30, Available()))
PLANNED = Planned(at(10), at(41), "brandao", "frayne")


def _scene(*cases: Case, now: float, by_plan: bool = True) -> Scene:
    instant = at(now)
    pictures = tuple(look(one, instant) for one in cases)
    shift = shift_at(FREE, instant)
    return scene_of(pictures, now=instant, seed=1, shift=shift, follows_plan=by_plan)


def _deeds(*cases: Case, now: float, by_plan: bool = True) -> list[tuple[str, object]]:
    deeds = plan(_scene(*cases, now=now, by_plan=by_plan))
    return [(deed.by, type(deed.payload)) for deed in deeds]


def test_a_unit_is_called_at_its_planned_time_and_handed_over_once_the_porter_has_come() -> None:
    unit = replace(READY, planned=PLANNED)
    hers = replace(case((-30, Available()), (10, HER)), planned=PLANNED)

    assert _deeds(unit, now=9) == []
    assert plan(_scene(unit, now=10)) == (
        Deed("episode-1", "patient-1", "marlow", Assigned("brandao")),
    )
    assert (_deeds(hers, now=10), _deeds(hers, now=16)) == ([], [("blood-bank", Issued)])


def test_its_nurse_turns_to_it_when_the_plan_says_and_reads_along_with_the_planned_second() -> None:
    told: tuple[Fact, ...] = (
        *((9, one) for one in CONFIRMED),
        (10, HER),
        (12, Issued()),
        (19, Received()),
    )
    come = replace(case((-30, Available()), *told), planned=PLANNED)
    seen = case((-30, Available()), *told, (28, SOUND), (29, SetHung()), (31, FULL))
    checks = [deed.payload for deed in plan(_scene(replace(seen, planned=PLANNED), now=37))]
    read = [(one.first_by, one.second_by) for one in checks if isinstance(one, IdentityChecked)]

    assert (_deeds(come, now=26), _deeds(come, now=30)) == ([], [("brandao", Inspected)])
    assert read == [("brandao", "frayne")]


def test_a_unit_that_no_plan_knows_waits_for_one_unless_it_is_an_emergency() -> None:
    hurried = case((-30, Available()), priority=Priority.EMERGENCY)

    assert _deeds(READY, now=0) == []
    assert _deeds(hurried, now=0) == [("marlow", Assigned)]
    assert _deeds(READY, now=0, by_plan=False) == [("marlow", Assigned)]


def test_a_mended_plan_gives_a_unit_to_another_nurse_until_it_is_checked() -> None:
    hale = replace(PLANNED, nurse_id="hale", call_at=None)
    unit = replace(case((-30, Available()), (-5, HER), (0, Issued())), planned=hale)

    (given,) = (deed for deed in plan(_scene(unit, now=1)) if isinstance(deed.payload, Assigned))

    assert given == Deed("episode-1", "patient-1", "marlow", Assigned("hale"))


def test_the_second_unit_of_a_patient_is_not_called_while_the_first_is_in_hand() -> None:
    first = case((-40, Available()), (-5, HER), (0, Issued()), id="episode-0")
    second = replace(READY, planned=PLANNED)
    elsewhere = of_patient(second, "patient-2")

    called = [
        [deed for deed in plan(_scene(first, one, now=12)) if deed.episode_id == "episode-1"]
        for one in (second, elsewhere)
    ]

    assert [len(deeds) for deeds in called] == [0, 1]


def test_the_charge_nurse_asks_for_what_was_ordered_and_accepts_what_mends() -> None:
    known = replace(READY, planned=PLANNED)
    new = of_patient(case((-1, Available()), id="episode-2", recorded_at=at(-2)), "patient-2")
    hurried = replace(new, request=replace(new.request, priority=Priority.EMERGENCY))
    held, broken = InForce(_plan()), InForce(_plan(), at(10), "mends")

    def decided(in_force: InForce, *cases: Case, now: float) -> Planning:
        return planning(_scene(*cases, now=now), in_force)

    assert decided(held, known, now=6) is Planning.NOTHING
    assert decided(held, known, new, now=0) is Planning.NOTHING
    assert decided(held, known, new, now=7) is Planning.ASK
    assert decided(held, known, hurried, now=0) is Planning.ASK
    assert (decided(broken, known, now=11), decided(broken, known, now=21)) == (
        Planning.NOTHING,
        Planning.MEND,
    )
    assert decided(replace(broken, repair_id=None), known, now=21) is Planning.ASK


@dataclass(slots=True)
class Acted:
    """A planned ward that was acted out, with how its plan stood at each step."""

    store: Store
    told: tuple[Plan, Plan]
    watches: list[PlanWatch] = field(default_factory=list)
    accepted: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def acted(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Acted]:
    """Half an hour of it, each plan searched for long enough to be the best there is."""
    folder = tmp_path_factory.mktemp("planned")
    with copied(tell_to(folder / "told.db"), folder) as store:
        told = tell_plans(store, start=START, away=episode_id(AWAY))
        acted = Acted(store, told)
        shift = SimulatedShift(store, seed=1, start=START, hands_off=10 * MINUTE, plan_seconds=20)
        now = START
        while now < END:
            _look_at_plan(acted, now)
            now += 2 * MINUTE
            stepped = shift.step(now)
            acted.accepted += stepped.accepted
            acted.refused += stepped.refused
            tick(store, now=now)
        yield acted


def test_a_plan_is_in_force_another_waits_and_within_minutes_the_first_does_not_hold(
    acted: Acted,
) -> None:
    first, second = acted.told
    made_by = Maker.SOLVER if available() else Maker.LIST_RULE

    assert [plan.proposal.made_by for plan in acted.told] == [made_by, made_by]
    assert acted.watches[0].plan_id == first.id
    assert (acted.watches[0].findings, acted.watches[0].repair_id) == ((), None)
    broken = next(one for one in acted.watches if one.findings)
    assert (broken.plan_id, broken.looked_at < START + 10 * MINUTE) == (first.id, True)
    assert broken.repair_id is not None
    away = (second.wishes[0].forbidden[0], second.start_of(episode_id(AWAY)))
    assert away[1] is not None
    assert not away[0].contains(away[1].start_at)
    assert second.id not in {plan.id for plan in _accepted(acted.store)}


def test_plans_are_mended_and_asked_for_and_nothing_is_refused(acted: Acted) -> None:
    in_force = _accepted(acted.store)

    assert acted.refused == []
    assert acted.accepted
    assert [plan.id for plan in in_force] == [*reversed(acted.accepted), acted.told[0].id]
    assert {plan.accepted_by for plan in in_force} == {"marlow"}


def test_units_are_called_when_and_to_whom_the_plan_in_force_said(acted: Acted) -> None:
    plans = _accepted(acted.store)
    calls = [
        (one.event.episode_id, one.event.happened_at)
        for one in facts_of(acted.store)
        if isinstance(one.event.payload, Issued) and one.event.happened_at > START
    ]
    units = {one.case.request.id: one for one in pictures_of(acted.store, END).values()}

    assert calls
    for unit, at_instant in calls:
        start = _planned(plans, unit or "", at_instant)
        assert start is not None
        assert start.call_at is not None
        assert start.call_at <= at_instant <= start.call_at + 15 * MINUTE
        assert units[unit or ""].episode.nurse_id == start.nurse_id


def test_what_is_started_was_planned(acted: Acted) -> None:
    first = {start.episode_id: start for start in acted.told[0].proposal.starts}
    started = [
        one.event.episode_id
        for one in facts_of(acted.store)
        if isinstance(one.event.payload, Started) and one.event.happened_at > START
    ]

    assert set(started) & set(first)
    waiting = {
        row.picture.case.request.id
        for row in board_of(acted.store, END).rows
        if row.picture.episode.phase in (Phase.REQUESTED, Phase.AVAILABLE)
    }
    assert waiting


def test_the_ward_has_a_day_with_limits(acted: Acted) -> None:
    with acted.store.read() as session:
        limits = read_limits(session, CHARGE, WARD_ID, now=START)

    assert (limits.most_starts, limits.porters, len(limits.handovers)) == (3, 2, 2)


def _plan() -> Plan:
    proposal = Proposal(
        ward_id="ward-1",
        from_at=at(0),
        until_at=at(480),
        made_by=Maker.HAND,
        status=Status.FEASIBLE,
        objective=Objective(0, 0, 0, 0, 0),
        bound=None,
        gap_percent=None,
        seconds=0.0,
        starts=(),
        unplaced=(),
    )
    return Plan("p1", "ward-1", at(0), "marlow", "", proposal, accepted_at=at(0))


def _look_at_plan(acted: Acted, now: datetime) -> None:
    watch_plans(acted.store, now=now)
    with acted.store.read() as session:
        acted.watches.append(read_watches(session, [WARD_ID])[WARD_ID])


def _accepted(store: Store) -> tuple[Plan, ...]:
    with store.read() as session:
        return accepted_plans(session, WARD_ID, limit=50)


def _planned(plans: tuple[Plan, ...], unit: str, at_instant: datetime) -> Start | None:
    """Where the latest plan accepted before an instant had put a unit with its call."""
    for one in plans:
        start = one.start_of(unit)
        if one.accepted_at is not None and one.accepted_at < at_instant and start is not None:
            return start
    return None
