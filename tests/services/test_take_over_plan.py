"""What a supposed plan would do, taken over for the ward as it is recorded."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from server.domain.plan.plan import NOTHING_SUPPOSED, Plan
from server.domain.plan.proposal import Proposal, Unplaced
from server.domain.plan.suppose import BedMoves, MoreUnits, Suppositions
from server.domain.words import Component, Priority
from server.services.accept_plan import accept_plan, discard_plan
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.make_plan import PlanAsk, make_plan
from server.services.planning_ground import Asked
from server.services.take_over_plan import WHAT, take_over_plan
from server.store.plans import add_plan, read_plan
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, NURSE, OUTSIDE_CHARGE
from tests.services.planned_ward import fill_ward, keep_list_plan

NOW = at(30)
MOVED = Suppositions(moves=(BedMoves("4", at(60)),))


def chart(charting: Charting) -> None:
    fill_ward(charting)


def _kept(ward: Charting, plan: Plan) -> Plan:
    with ward.store.write() as session:
        add_plan(session, plan)
    return plan


def _taken(ward: Charting, plan_id: str, actor: Actor = CHARGE) -> Plan:
    with ward.store.write() as session:
        return take_over_plan(session, actor, plan_id, now=NOW)


@ON_BOTH_ENGINES
def test_the_starts_of_real_units_become_a_proposal_and_supposed_units_fall_away(
    ward: Charting,
) -> None:
    more = MoreUnits("9", Component.RED_CELLS, Priority.EMERGENCY, 1, at(40), 280)
    ask = PlanAsk("w1", Asked(supposed=Suppositions(more=(more,))), 2.0)
    supposed = _kept(ward, make_plan(ward.store, CHARGE, ask, now=NOW))

    taken = _taken(ward, supposed.id)

    assert (taken.supposed, taken.parent_id, taken.what) == (NOTHING_SUPPOSED, supposed.id, WHAT)
    assert supposed.start_of("supposed 1 1") is not None
    assert [one.episode_id for one in taken.proposal.starts] == [
        one.episode_id for one in supposed.proposal.starts if one.episode_id != "supposed 1 1"
    ]
    for start in taken.proposal.starts:
        before = supposed.start_of(start.episode_id)
        assert before is not None
        assert (start.check_at, start.nurse_id, start.second_id, start.spare_minutes) == (
            before.check_at,
            before.nurse_id,
            before.second_id,
            before.spare_minutes,
        )
    with ward.store.write() as session:
        assert accept_plan(session, CHARGE, taken.id, now=at(31)).accepted_at == at(31)
        assert read_plan(session, taken.id) == replace(
            taken, accepted_at=at(31), accepted_by=CHARGE.id
        )


def _without(proposal: Proposal, episode_id: str, *, told: bool) -> Proposal:
    """The proposal without a unit, which it was told of and could not place, or not."""
    unplaced = (Unplaced(episode_id, (), "no room"),) if told else ()
    starts = tuple(one for one in proposal.starts if one.episode_id != episode_id)
    return replace(proposal, starts=starts, unplaced=unplaced)


@pytest.mark.parametrize("told", [False, True])
def test_a_unit_supposed_to_be_gone_stays_as_the_accepted_plan_has_it(
    ward: Charting, *, told: bool
) -> None:
    plan = keep_list_plan(ward.store, "a", NOW)
    with ward.store.write() as session:
        accept_plan(session, CHARGE, "a", now=NOW)
    left = _without(plan.proposal, "next", told=told)
    _kept(ward, replace(plan, id="b", proposal=left, supposed=MOVED))

    taken = _taken(ward, "b")

    there = plan.start_of("next")
    assert there is not None
    start = taken.start_of("next")
    assert (start is None) == told
    assert start is None or (start.check_at, start.nurse_id) == (there.check_at, there.nurse_id)
    assert taken.start_of("waits") is not None


def test_a_unit_that_no_plan_knows_has_no_start(ward: Charting) -> None:
    plan = keep_list_plan(ward.store, "a", NOW)
    _kept(
        ward,
        replace(plan, id="b", proposal=_without(plan.proposal, "next", told=False), supposed=MOVED),
    )

    taken = _taken(ward, "b")

    assert taken.start_of("next") is None
    assert taken.proposal.unplaced == (Unplaced("next", (), "no start was planned for it"),)


def _nothing(ward: Charting) -> str:
    return keep_list_plan(ward.store, "a", NOW).id


def _supposed(ward: Charting) -> str:
    plan = keep_list_plan(ward.store, "a", NOW)
    return _kept(ward, replace(plan, id="b", supposed=MOVED)).id


def _discarded(ward: Charting) -> str:
    plan_id = _supposed(ward)
    with ward.store.write() as session:
        return discard_plan(session, CHARGE, plan_id, now=NOW).id


@pytest.mark.parametrize(
    ("make", "actor", "error"),
    [
        (_nothing, CHARGE, Conflict),
        (_discarded, CHARGE, Conflict),
        (_supposed, NURSE, Forbidden),
        (_supposed, OUTSIDE_CHARGE, Forbidden),
        (lambda _ward: "none", CHARGE, NotFound),
    ],
)
def test_who_may_not_and_what_supposes_nothing(
    ward: Charting, make: Callable[[Charting], str], actor: Actor, error: type[Exception]
) -> None:
    plan_id = make(ward)

    with pytest.raises(error):
        _taken(ward, plan_id, actor)
