"""A mistake is voided: it stays visible, and counts as never having been."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.errors import Invalid, Refused
from server.domain.payloads import CauseGiven, Completed, Issued, Note, Received, SetHung, Voided
from server.domain.words import ClockName, ClockState, Kind, Phase
from server.services.errors import Conflict, Forbidden
from tests.domain.builders import FULL, at, kinds
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, MANAGER, OUTSIDER, W2


@ON_BOTH_ENGINES
def test_a_voided_fact_counts_as_absent_and_stays_visible(charting: Charting) -> None:
    charting.open()
    charting.issue()
    received = charting.record(5, Received())

    void = charting.record(6, Voided(received.event_id, "wrong bag"))

    read = charting.episode(7)
    assert kinds(read.events) == [Kind.ISSUED, Kind.RECEIVED, Kind.VOIDED]
    assert (read.picture.episode.received_at, void.revision) == (None, 3)
    assert {old: new.id for old, new in read.voided_by.items()} == {
        received.event_id: void.event_id
    }


def test_a_void_equals_never_having_had_it(charting: Charting) -> None:
    for episode_id, patient_id in (("e1", "p1"), ("e2", "p2")):
        charting.run(episode_id, patient_id)
    ended = charting.record(30, Completed(), "e2")
    charting.record(31, Voided(ended.event_id, "other bed"), "e2")

    def derived(episode_id: str) -> object:
        state = charting.state(episode_id)
        return state.phase, state.level, state.ended_at, state.next_change_at, state.states

    charting.record(31, Note("seen"), "e1")
    assert derived("e2") == derived("e1")


def test_a_void_that_makes_what_came_after_impossible_is_refused(charting: Charting) -> None:
    charting.open()
    issued = charting.issue()
    charting.start()
    before = charting.everything()

    with pytest.raises(Refused) as refused:
        charting.record(20, Voided(issued.event_id, "wrong bag"))

    assert (refused.value.phase, charting.everything()) == (Phase.REQUESTED, before)


@pytest.mark.parametrize("target", ["unknown", "of another unit", "a void"])
def test_what_is_no_fact_of_the_unit_cannot_be_voided(charting: Charting, target: str) -> None:
    charting.open()
    charting.open("e2", "p2")
    issued = charting.issue()
    ids = {
        "unknown": "nothing",
        "of another unit": charting.issue("e2").event_id,
        "a void": charting.record(1, Voided(issued.event_id, "wrong bag")).event_id,
    }
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        charting.record(2, Voided(ids[target], "mistake"))

    assert (refused.value.field, charting.everything()) == ("event_id", before)


def test_a_fact_is_voided_once(charting: Charting) -> None:
    charting.open()
    issued = charting.issue()
    charting.record(1, Voided(issued.event_id, "wrong bag"))
    before = charting.everything()

    with pytest.raises(Conflict, match="that event is voided already"):
        charting.record(2, Voided(issued.event_id, "wrong bag"))

    assert charting.everything() == before


def test_an_outsider_voids_nothing(charting: Charting) -> None:
    charting.open()
    issued = charting.issue()

    with pytest.raises(Forbidden):
        charting.record(1, Voided(issued.event_id, "wrong bag"), actor=OUTSIDER)


@ON_BOTH_ENGINES
def test_a_voided_set_serves_no_unit_of_the_patient_any_more(charting: Charting) -> None:
    charting.run("e1")
    charting.run("e2")
    observed = charting.observe(25)
    met = [charting.clock_states(one)["first_check:1"] for one in ("e1", "e2")]

    charting.record(26, Voided(observed.event_id, "other patient"), "e1")

    now = [charting.clock_states(one)["first_check:1"] for one in ("e1", "e2")]
    assert (met, now) == ([ClockState.MET] * 2, [ClockState.DUE] * 2)
    assert charting.rebuild(26).differed == ()


def test_a_set_charted_on_one_unit_is_voided_on_the_other(charting: Charting) -> None:
    charting.run("e1")
    charting.run("e2")
    observed = charting.record(25, FULL, "e1")

    charting.record(26, Voided(observed.event_id, "other patient"), "e2")

    assert [charting.state(one).revision for one in ("e1", "e2")] == [observed.revision + 1] * 2
    assert charting.clock_states("e1")["first_check:1"] is ClockState.DUE


def test_an_end_voided_long_after_lets_later_sets_in_again(charting: Charting) -> None:
    charting.run()
    ended = charting.record(60, Completed())
    ten_days = 10 * 24 * 60
    observed = charting.observe(ten_days)

    charting.record(ten_days + 5, Voided(ended.event_id, "other patient"))

    last = max(name for name in charting.clocks() if name.startswith(ClockName.RUNNING_CHECK))
    assert charting.clocks()[last].opens_at == at(ten_days + 60 - 15)
    assert charting.state().revision == observed.revision + 1
    assert charting.rebuild(ten_days + 5).differed == ()


def test_a_wrong_issue_is_voided_and_recorded_again(charting: Charting) -> None:
    charting.open()
    wrong = charting.issue(minute=0)
    charting.record(1, Voided(wrong.event_id, "wrong time"))

    charting.record(-10, Issued(), now=at(2))

    assert charting.state().issued_at == at(-10)
    assert charting.clocks()["start:1"].limit_at == at(20)


def test_voiding_a_giving_set_moves_the_other_units_of_the_patient(charting: Charting) -> None:
    charting.open("e1")
    charting.issue("e1")
    hung = charting.record(1, SetHung(), "e1")
    charting.run("e2")
    inherited = charting.clocks("e2")["set_change:1"].limit_at

    charting.record(12, Voided(hung.event_id, "other patient"), "e1")

    assert (inherited, "set_change:1" in charting.clocks("e2")) == (
        at(1) + timedelta(hours=12),
        False,
    )


def test_a_manager_takes_causes_back_and_nothing_else(charting: Charting) -> None:
    """Whoever gives causes may take one back; an administrator and another ward may not."""
    charting.run()
    charting.tick(31)
    cause = charting.record(40, CauseGiven(ClockName.FIRST_CHECK, "porter late"))
    note = charting.record(41, Note("seen"))
    before = charting.everything()

    for actor, target in (
        (MANAGER, note.event_id),
        (ADMINISTRATOR, cause.event_id),
        (replace(MANAGER, id="manager-9", wards=W2), cause.event_id),
        (OUTSIDER, cause.event_id),
    ):
        with pytest.raises(Forbidden):
            charting.record(42, Voided(target, "mistake"), actor=actor)
    assert charting.everything() == before

    charting.record(43, Voided(cause.event_id, "of bed 5"), actor=MANAGER)
    breaches = {(one.clock, one.n): one.cause for one in charting.episode(44).picture.breaches}
    assert breaches[ClockName.FIRST_CHECK, 1] is None
