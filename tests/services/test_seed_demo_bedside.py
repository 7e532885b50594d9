"""What the simulated nurses do at the bedside, from pictures alone."""

from dataclasses import replace
from datetime import timedelta

import pytest

from seed_demo.actors.plan import plan
from seed_demo.rota import BEFORE
from seed_demo.told import CONFIRMED
from server.domain.payloads import (
    Acknowledged,
    Assigned,
    CauseGiven,
    Completed,
    Confirmed,
    Discarded,
    FateRecorded,
    Inspected,
    Issued,
    Observed,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Received,
    Resumed,
    Returned,
    SetHung,
    Stopped,
)
from server.domain.picture import Case
from server.domain.reaction import STEP
from server.domain.words import Component, Fate
from tests.domain.builders import BASE, CHECKED, FULL, SOUND, Fact, case, running
from tests.services.demo_scenes import HER, deeds, hers, of_patient, scene

READY: tuple[Fact, ...] = ((5, Received()), (7, SOUND), (8, SetHung()))


@pytest.mark.parametrize(
    ("facts", "now", "wanted"),
    [
        ((), 9, Received),
        (READY[:1], 9, Inspected),
        (READY[:2], 10, SetHung),
        ((*READY, (10, FULL), (12, CHECKED)), 15, "Spiked"),
    ],
)
def test_a_unit_is_made_ready_step_by_step(
    facts: tuple[Fact, ...], now: float, wanted: type[Payload] | str
) -> None:
    (deed,) = plan(scene(hers(*facts), now=now))

    assert deed.by == "brandao"
    assert type(deed.payload).__name__ == (wanted if isinstance(wanted, str) else wanted.__name__)


def test_what_comes_first_is_confirmed_once_the_unit_is_called() -> None:
    called = case((-1, HER), (0, Issued()))
    twice = case((-2, CONFIRMED[0]), (-1, HER), (0, Issued()))

    first = plan(scene(called, now=9)) + plan(scene(twice, now=9))

    assert [deed.payload for deed in first] == list(CONFIRMED[:2])


def test_a_rate_that_may_stay_is_reviewed() -> None:
    unit = running((9, HER), (25, FULL), rate=300)

    assert deeds(unit, now=34) == [("brandao", Confirmed)]


def test_a_bag_that_is_not_sound_goes_back() -> None:
    facts = ((5, Received()), (7, Inspected(clots=True)))

    assert deeds(hers(*facts), now=14) == [("brandao", Returned)]


def test_a_unit_that_can_no_longer_be_in_by_its_limit_is_discarded() -> None:
    assert deeds(hers(), now=200) == [("brandao", Discarded)]


def test_platelets_after_red_cells_get_a_set_of_their_own() -> None:
    scene_now = scene(hers(*READY[:2], component=Component.PLATELETS), now=10)

    assert [type(deed.payload) for deed in plan(scene_now)] == [SetHung]


def test_an_unhurried_nurse_does_nothing() -> None:
    assert deeds(running((25, FULL), (9, HER)), now=25.5) == []


def test_after_the_first_quarter_of_an_hour_the_rate_is_raised() -> None:
    (deed,) = plan(scene(running((25, FULL), (9, HER)), now=29))

    assert isinstance(deed.payload, RateSet)
    assert 60 < deed.payload.rate_ml_h <= 180


def test_a_rate_that_ends_too_late_is_raised_to_what_is_needed() -> None:
    unit = running((25, FULL), (26, RateSet(65)), (83, FULL), (9, HER))

    (deed,) = plan(scene(unit, now=92))

    assert deed.payload == RateSet(85)


def test_a_paused_unit_goes_on() -> None:
    unit = running((25, FULL), (26, RateSet(150)), (30, Paused("new cannula")), (9, HER))

    assert deeds(unit, now=46) == [("brandao", Resumed)]


def test_at_the_finish_limit_the_rest_stays_in_the_bag() -> None:
    unit = running((25, FULL), (85, FULL), (145, FULL), (205, FULL), (9, HER), (26, RateSet(60)))

    (deed,) = plan(scene(unit, now=249))

    assert deed.payload == Stopped("finish limit reached", 239)


def test_an_empty_bag_is_found_within_minutes() -> None:
    unit = running((25, FULL), (26, RateSet(300)), (83, FULL), (9, HER))

    found = [deeds(unit, now=minute) for minute in range(84, 100)]

    assert ("brandao", Completed) in [deed for minute in found for deed in minute]


def test_after_the_end_the_bag_is_accounted_for() -> None:
    ended = running((25, FULL), (60, Completed(280)), (65, FULL), (9, HER))
    payloads = [deed.payload for minute in (63, 140) for deed in plan(scene(ended, now=minute))]
    stopped = running((25, FULL), (60, Stopped("finish limit reached")), (65, FULL), (9, HER))

    assert payloads[0] == plan(scene(stopped, now=63))[0].payload
    flushed = running(*_facts(ended), (61, payloads[0]))
    assert [one.payload for one in plan(scene(flushed, now=140))] == [FateRecorded(Fate.TRANSFUSED)]


def _facts(given: Case) -> list[Fact]:
    return [
        (round((one.happened_at - BASE) / timedelta(minutes=1)), one.payload)
        for one in given.events[2:]
    ]


def test_a_suspected_reaction_is_stopped_at_once_whoever_is_there() -> None:
    unit = running((25, FULL), (40, ReactionSuspected(("rigors",))), (9, HER))

    assert deeds(unit, now=40) == [("brandao", Stopped)]


def test_a_suspected_reaction_is_worked_through_and_closed_by_the_charge_nurse() -> None:
    stopped: list[Fact] = [(40, ReactionSuspected(("rigors",))), (41, Stopped("suspected"))]
    steps: list[Fact] = [(42 + n, ReactionStep(step)) for n, step in enumerate(STEP)]
    signs: list[Fact] = [(minute, FULL) for minute in (25, 55, 70, 85, 100, 115, 130, 145, 152)]
    unit = running((9, HER), *stopped, *steps[:2], (42, FULL))
    done = running((9, HER), *stopped, *steps, *signs)

    assert [deed.payload for deed in plan(scene(unit, now=49))] == [ReactionStep("abc_and_call")]
    assert deeds(done, now=153) == [("marlow", ReactionClosed)]


def test_while_a_nurse_is_on_a_break_the_charge_nurse_does_what_cannot_wait() -> None:
    unit = running((9, Assigned("ek")))
    began = BASE + BEFORE - timedelta(minutes=270)  # ek is away from 20 to 50, marlow 25 to 45

    done = {minute: deeds(unit, now=minute, began=began) for minute in (29, 44, 46)}

    assert done == {29: [], 44: [], 46: [("marlow", Observed)]}


def test_nobody_does_two_things_in_one_minute() -> None:
    one = hers(id="episode-1", bed="1")
    other = of_patient(hers(id="episode-2", bed="2"), "patient-2")

    assert deeds(one, other, now=9) == [("brandao", Received)]


def test_a_unit_is_left_alone_when_somebody_else_is_busy_with_it() -> None:
    free = scene(hers(), now=9)

    assert plan(replace(free, left_alone=frozenset({"episode-1"}))) == ()


def test_an_overdue_check_may_be_acknowledged_before_it_is_done() -> None:
    units = [running((5, FULL), (9, HER), id=f"episode-{n}") for n in range(8)]

    kinds = {deed[1] for unit in units for minute in (33, 35) for deed in deeds(unit, now=minute)}

    assert kinds <= {Observed, Acknowledged}
    assert Acknowledged in kinds


def test_a_missed_limit_may_be_given_its_cause() -> None:
    facts: tuple[Fact, ...] = ((5, FULL), (9, HER), (33, FULL), (34, RateSet(170)), (80, FULL))
    units = [running(*facts, id=f"episode-{n}") for n in range(8)]

    causes = [deed for unit in units for deed in plan(scene(unit, now=79))]

    assert [deed.payload for deed in causes if isinstance(deed.payload, CauseGiven)] != []
