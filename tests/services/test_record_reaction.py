"""A suspected reaction on a real database: what it holds, what it pauses, what it refuses."""

import pytest

from server.domain.errors import Refused
from server.domain.payloads import (
    Completed,
    Discarded,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionStep,
    Resumed,
    Returned,
    Started,
    Stopped,
    Voided,
)
from server.domain.words import ClockName, ClockState, Phase
from server.services.actor import Actor
from server.services.errors import Forbidden
from server.services.live_board import LiveBoard
from server.services.record_reaction_step import StepRecorded, record_reaction_step
from server.store.sessions import Change
from tests.domain.builders import FULL, at
from tests.services.charting import Charting, local_policy, reason_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, MANAGER, NURSE, OUTSIDER
from tests.services.reaction import SUSPECTED, two_units

HELD = "Held: suspected reaction since 10:30 in bed 4, red cells G0999. Issued 10:20, not started."
REFUSED = (
    "The start is refused: a reaction is suspected with another unit of this patient "
    "(bed 4, red cells G0999)."
)


def tick(
    charting: Charting, minute: float, step: ReactionStep, actor: Actor = NURSE
) -> StepRecorded:
    with charting.store.write() as session:
        return record_reaction_step(
            session, actor, "e1", step, happened_at=at(minute), now=at(minute)
        )


@ON_BOTH_ENGINES
def test_the_patients_other_units_are_held_until_it_is_closed(charting: Charting) -> None:
    two_units(charting)
    charting.record(30, SUSPECTED)

    assert reason_of(charting.board(31), "e2") == HELD
    with pytest.raises(Refused) as refused:
        charting.record(32, Started(60), "e2")
    assert refused.value.reason == REFUSED

    charting.record(40, ReactionClosed("not a reaction"))

    assert reason_of(charting.board(41), "e2").startswith("Left storage 10:20 and not started.")
    charting.record(42, Started(60), "e2")
    assert charting.state("e2").phase is Phase.RUNNING
    assert charting.rebuild(43).differed == ()


def test_in_an_emergency_it_is_started_with_a_reason_that_stays(charting: Charting) -> None:
    two_units(charting)
    charting.record(30, SUSPECTED)

    charting.record(32, Started(60, override_reason="bleeding; Dr Ash decided"), "e2")

    episode = charting.episode(33, "e2").picture.episode
    assert (episode.phase, episode.override_reason) == (
        Phase.RUNNING,
        "bleeding; Dr Ash decided",
    )


@ON_BOTH_ENGINES
def test_the_board_in_memory_says_so_and_ceases_to(charting: Charting) -> None:
    two_units(charting)
    board = LiveBoard("w1")

    def said(minute: int) -> str:
        board.mark_changed()
        return reason_of(board.board(charting.store, at(minute)), "e2")

    assert said(29) == "Issued 10:20, not started."
    suspected = charting.record(30, SUSPECTED)
    assert said(31) == HELD
    charting.record(33, Voided(suspected.event_id, "wrong bed"))
    assert said(34) == "Issued 10:20, not started."
    charting.record(35, SUSPECTED)
    assert said(36).startswith("Held: suspected reaction since 10:35")
    charting.record(37, ReactionClosed("not a reaction"))
    assert said(38) == "Issued 10:20, not started."


def test_whoever_looks_at_the_other_unit_is_told_that_it_changed(charting: Charting) -> None:
    two_units(charting)
    heard: list[Change] = []
    charting.store.on_commit(heard.extend)

    charting.record(30, SUSPECTED)

    assert [(one.ward_id, set(one.episode_ids)) for one in heard] == [("w1", {"e1", "e2"})]


def test_a_board_of_the_past_shows_what_was_held_then(charting: Charting) -> None:
    two_units(charting)
    charting.record(30, SUSPECTED)
    charting.record(60, ReactionClosed("not a reaction"))

    then = charting.board(90, at=at(45))
    unknown = charting.board(90, at=at(45), known_at=at(29))

    assert reason_of(then, "e2").startswith("Held: ")
    assert reason_of(unknown, "e2").startswith("Left ")


@ON_BOTH_ENGINES
def test_stopping_is_one_act_and_two_facts(charting: Charting) -> None:
    charting.run()
    charting.record(30, SUSPECTED)

    ticked = tick(charting, 31, ReactionStep("stop"))

    read = charting.episode(32)
    assert ticked.effect is not None
    assert [(one.id, one.payload, one.happened_at, one.staff_id) for one in read.events[-2:]] == [
        (ticked.step.event_id, ReactionStep("stop"), at(31), "nurse-1"),
        (ticked.effect.event_id, Paused("suspected reaction"), at(31), "nurse-1"),
    ]
    assert read.picture.episode.phase is Phase.PAUSED
    assert charting.rebuild(33).differed == ()


@pytest.mark.parametrize(
    ("before", "minute", "step"),
    [
        ((), 31, ReactionStep("samples")),
        ((), 31, ReactionStep("the wife was told")),
        (((30.5, Paused()),), 31, ReactionStep("stop")),
        (((30.5, Stopped("suspected reaction")),), 31, ReactionStep("stop")),
        (((32, RateSet(30)),), 31, ReactionStep("stop")),
    ],
    ids=["another step", "a note", "paused", "ended", "the rate was set since"],
)
def test_no_pause_is_invented(
    charting: Charting,
    before: tuple[tuple[float, Paused | Stopped | RateSet], ...],
    minute: int,
    step: ReactionStep,
) -> None:
    charting.run()
    charting.record(30, SUSPECTED)
    for when, payload in before:
        charting.record(when, payload)
    count = len(charting.episode(40).events)

    assert tick(charting, minute, step).effect is None
    assert len(charting.episode(40).events) == count + 1


@ON_BOTH_ENGINES
def test_sending_the_bag_back_is_one_act_and_two_facts(charting: Charting) -> None:
    charting.run()
    charting.record(30, SUSPECTED)
    charting.record(31, Stopped("suspected reaction"))
    before = charting.everything()

    with pytest.raises(Refused, match="bag and set go back to the laboratory"):
        charting.record(32, Discarded("dripped"))
    assert charting.everything() == before
    ticked = tick(charting, 33, ReactionStep("return_bag"))

    read = charting.episode(34)
    assert ticked.effect is not None
    assert [(one.id, one.payload, one.happened_at, one.staff_id) for one in read.events[-2:]] == [
        (ticked.step.event_id, ReactionStep("return_bag"), at(33), "nurse-1"),
        (ticked.effect.event_id, Returned("suspected reaction"), at(33), "nurse-1"),
    ]
    assert read.picture.episode.moved_at == at(33)
    assert charting.rebuild(35).differed == ()


@pytest.mark.parametrize(
    "before",
    [
        (),
        ((30.5, Stopped("suspected reaction")), (32, Returned())),
        ((31.5, Stopped("suspected reaction")),),
    ],
    ids=["it hangs still", "returned", "it ended later"],
)
def test_no_return_is_invented(
    charting: Charting, before: tuple[tuple[float, Stopped | Returned], ...]
) -> None:
    charting.run()
    charting.record(30, SUSPECTED)
    for when, payload in before:
        charting.record(when, payload)
    count = len(charting.episode(40).events)

    assert tick(charting, 31, ReactionStep("return_bag")).effect is None
    assert len(charting.episode(40).events) == count + 1


def test_a_step_without_a_suspicion_stores_nothing(charting: Charting) -> None:
    charting.run()
    before = charting.everything()

    with pytest.raises(Refused, match="no reaction is suspected"):
        tick(charting, 31, ReactionStep("stop"))

    assert charting.everything() == before


@pytest.mark.parametrize("actor", [OUTSIDER, MANAGER, ADMINISTRATOR])
def test_a_step_is_ticked_by_the_wards_nurses_only(charting: Charting, actor: Actor) -> None:
    charting.run()
    charting.record(30, SUSPECTED)

    with pytest.raises(Forbidden):
        tick(charting, 31, ReactionStep("stop"), actor)

    assert charting.state().phase is Phase.RUNNING


@ON_BOTH_ENGINES
def test_its_checks_are_owed_reminded_and_met(charting: Charting) -> None:
    charting.run()
    charting.observe(25)
    charting.record(30, SUSPECTED)
    charting.tick(36)

    assert charting.clock_states()["reaction_check:1"] is ClockState.OVERDUE
    raised = charting.reminders(clock=ClockName.REACTION_CHECK)
    assert {one.stage.value for one in raised} == {"due", "overdue"}
    charting.observe(37)
    states = charting.clock_states()
    assert (states["reaction_check:1"], states["reaction_check:2"]) == (
        ClockState.MET_LATE,
        ClockState.PENDING,
    )
    charting.tick(53)
    assert charting.clock_states()["reaction_check:2"] is ClockState.DUE
    charting.record(54, ReactionClosed("not a reaction"))
    assert charting.clock_states()["reaction_check:2"] is ClockState.LAPSED
    assert charting.rebuild(55).differed == ()


def test_a_unit_goes_on_after_a_reaction_by_a_clinicians_decision(charting: Charting) -> None:
    charting.run()
    charting.record(30, SUSPECTED)
    charting.record(31, Paused())
    before = charting.everything()

    with pytest.raises(Refused, match="name the clinician"):
        charting.record(35, Resumed())
    assert charting.everything() == before

    charting.record(36, Resumed(decided_by="Dr Ash"))
    assert charting.state().phase is Phase.RUNNING


def test_a_suspicion_is_closed_after_the_steps_of_the_policy(charting: Charting) -> None:
    strict = '[reaction.close_requires]\nvalue = ["stop", "tell_laboratory"]\n'
    charting.put_in_force(local_policy(strict), when=-10)
    charting.run()
    charting.record(30, SUSPECTED)
    tick(charting, 31, ReactionStep("stop"))

    with pytest.raises(Refused, match="these steps first: Tell the transfusion laboratory"):
        charting.record(40, ReactionClosed("undetermined"))
    tick(charting, 41, ReactionStep("tell_laboratory"))
    charting.record(42, ReactionClosed("undetermined"))

    assert charting.episode(43).picture.episode.reaction is None


def test_closing_leaves_the_late_watch_and_the_unit_as_they_were(charting: Charting) -> None:
    charting.run()
    charting.record(30, SUSPECTED)
    charting.record(31, Completed())
    charting.observe(32)
    charting.record(60, ReactionClosed("not a reaction"))

    assert charting.state().phase is Phase.ENDED
    assert charting.clock_states()["late_watch:1"] is ClockState.OPEN


def test_a_set_for_the_reaction_is_a_set_for_every_check(charting: Charting) -> None:
    charting.run()
    charting.record(20, SUSPECTED)
    charting.observe(22, observed=FULL)

    states = charting.clock_states()
    assert (states["reaction_check:1"], states["first_check:1"]) == (ClockState.MET,) * 2
