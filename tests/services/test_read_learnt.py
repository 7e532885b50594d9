"""What a ward learnt of its own minutes, and that plans use it only where that is switched on.

Medians and quartiles by hand, with both ends counted in: of 8, 10 and 12 minutes they are 9, 10
and 11.
"""

from datetime import timedelta

import pytest

from server.domain.payloads import Completed, Issued, Observed, Received, Started
from server.domain.plan.problem import Terms
from server.domain.workload.learnt import Learnt, Timed
from server.domain.workload.project import FROM_THE_CHECK
from server.domain.workload.projection import LeftOut, NotKnown
from server.domain.workload.task import Work
from server.services.actor import Actor
from server.services.enter_day import use_learnt
from server.services.errors import Forbidden, NotFound
from server.services.read_learnt import BEHIND, MOST_UNITS, read_learnt
from server.store.ended_units import ended_episode_ids
from tests.domain.builders import CHECKED, FULL, SOUND, at
from tests.domain.working import minutes
from tests.services.charting import Charting, local_policy
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.services.planned_ward import ground_at
from tests.store.facts import counted_queries, plans_of

TOMORROW = 1440.0
ENOUGH = local_policy("[work.enough_recorded]\nvalue = 3\n")
THREE = {
    Timed.CARRIED: Learnt(Timed.CARRIED, 3, minutes(9), minutes(10), minutes(11), True),
    Timed.SECOND_CHECK: Learnt(Timed.SECOND_CHECK, 3, minutes(4.5), minutes(5), minutes(5.5), True),
    Timed.CHECK_AND_START: Learnt(
        Timed.CHECK_AND_START, 3, minutes(9), minutes(10), minutes(11), True
    ),
}


def give(charting: Charting, name: str, took: int, begin: float = 0) -> None:
    """A unit that was carried for `took` minutes, and started `took` minutes after it came."""
    came = begin + took
    charting.open(name, now=begin - 1)
    charting.record(begin, Issued(removed_at=at(begin)), name)
    charting.record(came, Received(), name)
    charting.record(came + took / 2, SOUND, name)
    charting.record(came + took / 2, CHECKED, name)
    charting.record(came + took, Started(60), name)
    charting.record(begin + 120, Completed(), name)


def chart(charting: Charting) -> None:
    """Three units of yesterday; others that ended too early, today, or on another ward."""
    charting.put_in_force(ENOUGH, when=-599)
    for place, took in enumerate((8, 10, 12)):
        give(charting, f"e{place}", took, 200.0 * place)
    give(charting, "today", 20, TOMORROW - 300)
    charting.open("there", "p9", ward_id="w2", now=-1)
    charting.record(0, Issued(removed_at=at(-20)), "there", actor=PROGRAM)


def learnt(ward: Charting, when: float = TOMORROW, actor: Actor = CHARGE) -> dict[Timed, Learnt]:
    with ward.store.read() as session:
        return dict(read_learnt(session, actor, "w1", now=at(when)))


def terms(ward: Charting) -> Terms:
    return ground_at(ward.store, at(TOMORROW)).terms


def switch(ward: Charting, actor: Actor = MANAGER, ward_id: str = "w1", *, on: bool = True) -> None:
    with ward.store.write() as session:
        use_learnt(session, actor, ward_id, learnt=on, now=at(TOMORROW - 1))


@ON_BOTH_ENGINES
def test_units_that_ended_before_today_say_how_long_work_takes(ward: Charting) -> None:
    assert learnt(ward) == THREE


@ON_BOTH_ENGINES
def test_the_latest_units_of_a_period_are_listed_up_to_so_many(ward: Charting) -> None:
    def listed(begin: float, end: float, most: int = MOST_UNITS) -> tuple[str, ...]:
        with ward.store.read() as session:
            return ended_episode_ids(session, "w1", at(begin), at(end), most=most)

    assert listed(120, 1440) == ("today", "e2", "e1", "e0")
    assert listed(121, 520) == ("e1",)
    assert listed(0, 1440, most=2) == ("today", "e2")
    if ward.store.address.startswith("sqlite"):
        assert "SCAN episode_state" not in plans_of(ward.store, lambda: listed(0, 1440))


def test_what_is_older_than_a_quarter_or_of_today_is_not_asked(ward: Charting) -> None:
    days = BEHIND / timedelta(days=1)

    assert learnt(ward, 700) == {}
    assert learnt(ward, 1440 * days) == THREE | {
        timed: Learnt(timed, 4, *quartiles, is_enough=True)
        for timed, quartiles in {
            Timed.CARRIED: (minutes(9.5), minutes(11), minutes(14)),
            Timed.SECOND_CHECK: (minutes(4.75), minutes(5.5), minutes(7)),
            Timed.CHECK_AND_START: (minutes(9.5), minutes(11), minutes(14)),
        }.items()
    }
    assert learnt(ward, 1440 * (days + 1)) == {}


def test_the_end_set_is_shown_and_whoever_may_not_read_the_ward_learns_nothing(
    ward: Charting,
) -> None:
    ward.observe(126, observed=FULL)
    ward.observe(328, observed=Observed(temperature_c=36.8))
    ward.observe(330, observed=FULL)

    assert learnt(ward)[Timed.END_SET] == Learnt(
        Timed.END_SET, 2, minutes(7), minutes(8), minutes(9), is_enough=False
    )
    with pytest.raises(Forbidden):
        learnt(ward, actor=OUTSIDER)


def test_a_plan_uses_it_only_where_the_manager_switched_it_on(ward: Charting) -> None:
    stated = terms(ward)
    with counted_queries(ward.store) as without:
        ground_at(ward.store, at(TOMORROW))
    switch(ward)
    own = terms(ward)
    with ward.store.read() as session, counted_queries(ward.store) as at_night:
        read_learnt(session, CHARGE, "w1", now=at(TOMORROW))
    switch(ward, on=False)

    assert (stated.check, stated.carried) == (minutes(15), minutes(10))
    assert stated.lengths[Work.SECOND_CHECK] == minutes(7)
    assert (own.check, own.carried) == (minutes(10), minutes(10))
    assert own.lengths == {
        **stated.lengths,
        Work.CHECK_AND_START: minutes(10),
        Work.SECOND_CHECK: minutes(5),
    }
    assert not [sent for sent, _ in without if "ended_at <" in sent]
    assert len([sent for sent, _ in at_night if "ended_at <" in sent]) == 1
    assert terms(ward) == stated


def test_the_switch_is_refused_to_others_and_on_a_ward_that_is_none(ward: Charting) -> None:
    everywhere = Actor("m", "M", MANAGER.role, None, staff_id="manager-1")

    for actor in (CHARGE, NURSE, ADMINISTRATOR):
        with pytest.raises(Forbidden):
            switch(ward, actor)
    with pytest.raises(NotFound):
        switch(ward, everywhere, "w9")


def test_a_unit_that_no_plan_can_be_made_for_is_named_once(ward: Charting) -> None:
    ward.open("empty", "p2", bed="5", volume_ml=None, now=TOMORROW - 20)
    ward.record(TOMORROW - 10, Issued(), "empty")

    ground = ground_at(ward.store, at(TOMORROW))

    assert ground.left_out == (LeftOut("empty", "5", NotKnown.NO_VOLUME, FROM_THE_CHECK),)
