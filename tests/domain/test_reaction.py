"""A suspected reaction: one suspicion after another, its signs, its steps, its outcome."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.errors import Refused
from server.domain.events import Event
from server.domain.fold import fold
from server.domain.payloads import (
    Issued,
    Payload,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Started,
    Stopped,
    Voided,
    Warned,
    WarningChecked,
)
from server.domain.reaction import STEP, STEPS, Suspicion, Ticked, suspicions_of
from server.domain.words import Recheck
from tests.domain.builders import Fact, around, at, event, request, told

RUNNING: tuple[Fact, ...] = ((0, Issued()), (10, Started(60)))
SUSPECTED = (20, ReactionSuspected(("rigors",)))
WRONG = ReactionStep("recheck_identity", Recheck.WRONG)


def suspicions(*facts: Fact | Event) -> list[Suspicion]:
    return fold(request(), told(*RUNNING, *facts)).reactions


def test_a_new_suspicion_after_a_closed_one_starts_afresh() -> None:
    first, second = suspicions(
        SUSPECTED,
        (21, ReactionStep("stop")),
        (60, ReactionClosed("not a reaction")),
        (90, ReactionSuspected(("rash",))),
        (91, ReactionStep("inspect_bag")),
    )

    assert first == Suspicion(
        at(20),
        ("rigors",),
        (Ticked(at(21), "stop", "nurse-1", "e4"),),
        at(60),
        "nurse-1",
        "not a reaction",
    )
    assert second == Suspicion(at(90), ("rash",), (Ticked(at(91), "inspect_bag", "nurse-1", "e7"),))


def test_a_sign_that_is_seen_again_is_told_once() -> None:
    (one,) = suspicions(SUSPECTED, (22, ReactionSuspected(("fever", "rigors", "fever"))))

    assert (one.since, one.symptoms) == (at(20), ("rigors", "fever"))


def test_who_did_a_step_is_who_is_named_else_who_recorded_it() -> None:
    stop = event(9, 21, ReactionStep("stop"), staff_id="nurse-2")
    (one,) = suspicions(SUSPECTED, stop, event(10, 22, ReactionStep("samples")))

    assert [(tick.step, tick.by) for tick in one.ticked] == [
        ("stop", "nurse-2"),
        ("samples", "nurse-1"),
    ]


def test_a_known_word_ticks_its_step_and_another_text_is_a_note() -> None:
    (one,) = suspicions(
        SUSPECTED,
        (21, ReactionStep("stop")),
        (22, ReactionStep("son rang, is on the way")),
        (23, ReactionStep("stop")),
    )

    first, note, _ = one.ticked
    assert (one.tick_of("stop"), one.tick_of("samples"), one.notes) == (first, None, (note,))


def test_steps_that_lack_come_in_the_order_of_the_procedure() -> None:
    (one,) = suspicions(SUSPECTED, (21, ReactionStep("tell_laboratory")))

    assert one.lacks(("document", "tell_laboratory", "stop")) == ("stop", "document")
    assert one.lacks(()) == ()


def test_a_finding_that_identity_is_wrong_stands_although_somebody_looks_again() -> None:
    again = (25, ReactionStep("recheck_identity", Recheck.AGREES))
    (one,) = suspicions(SUSPECTED, (22, WRONG), again)
    (voided,) = suspicions(SUSPECTED, (22, WRONG), again, (26, Voided("e4", "another patient")))

    assert one.identity_error == one.ticked[0]
    assert voided.identity_error is None


@pytest.mark.parametrize(
    ("closed", "expected"),
    [((), [False, True, True]), (((60, ReactionClosed("none")),), [False, True, True])],
)
def test_it_is_open_from_its_first_second(closed: tuple[Fact, ...], expected: list[bool]) -> None:
    (one,) = suspicions(SUSPECTED, *closed)

    assert [one.is_open_at(now) for now in around(at(20))] == expected


def test_it_is_open_until_the_second_before_it_is_closed() -> None:
    (one,) = suspicions(SUSPECTED, (60, ReactionClosed("none")))

    assert [one.is_open_at(now) for now in around(at(60))] == [True, False, False]


@pytest.mark.parametrize("payload", [ReactionStep("stop"), ReactionClosed("none")])
def test_after_the_closing_nothing_is_ticked_or_closed(payload: Payload) -> None:
    facts = (*RUNNING, SUSPECTED, (60, ReactionClosed("none")), (61, payload))

    with pytest.raises(Refused, match="no reaction is suspected"):
        fold(request(), told(*facts))


def test_what_stands_without_its_beginning_makes_no_suspicion() -> None:
    assert suspicions_of(told((1, ReactionStep("stop")), (2, ReactionClosed("none")))) == ()


def test_other_facts_make_no_suspicion() -> None:
    (one,) = suspicions_of(told((0, Issued()), SUSPECTED, (21, Stopped("rigors"))))

    assert one == Suspicion(at(20), ("rigors",))


def test_a_warning_stands_until_somebody_has_checked_the_unit() -> None:
    warned = (30, Warned("e9", "7", "G099926123456"))
    checked = (40, WarningChecked("the right unit"))
    open_one = fold(request(), told(*RUNNING, warned))
    done = fold(request(), told(*RUNNING, warned, checked, (50, Warned("e8", "2"))))

    (warning,) = open_one.open_warnings
    assert (warning.at, warning.event_id, warning.episode_id, warning.bed, warning.unit_number) == (
        at(30),
        "e3",
        "e9",
        "7",
        "G099926123456",
    )
    assert [one.checked_at for one in done.warnings] == [at(40), None]
    assert done.open_warnings == done.warnings[1:]


def test_checking_again_leaves_the_first_check_standing() -> None:
    checks = ((40, WarningChecked("right")), (50, WarningChecked("right again")))
    episode = fold(request(), told(*RUNNING, (30, Warned("e9", "7")), *checks))

    assert [one.checked_at for one in episode.warnings] == [at(40)]


def test_every_step_has_a_word_of_its_own_and_a_source() -> None:
    assert list(STEP) == [step.slug for step in STEPS]
    assert [step for step in STEPS if not (step.words and step.source)] == []
    assert len(STEP) == len(STEPS)


TICKS = st.sampled_from([*STEP, "a note"]).map(ReactionStep)
SIGNS = st.lists(st.sampled_from(["fever", "rash", "rigors"]), max_size=3)
ACTS = st.one_of(
    TICKS,
    SIGNS.map(lambda signs: ReactionSuspected(tuple(signs))),
    st.just(ReactionClosed("settled")),
    st.just(WRONG),
)


@st.composite
def histories(draw: st.DrawFn) -> tuple[Event, ...]:
    """Legal facts of suspicions: begun, worked through and closed, again and again."""
    facts: list[Fact] = [*RUNNING]
    is_open = False
    for minute in range(20, 20 + draw(st.integers(0, 12))):
        act = draw(ACTS)
        if not is_open and not isinstance(act, ReactionSuspected):
            continue
        is_open = not isinstance(act, ReactionClosed)
        facts.append((minute, act))
    return told(*facts)


@given(st.data(), histories())
@settings(max_examples=50)
def test_the_order_in_which_facts_are_told_does_not_matter(
    data: st.DataObject, events: tuple[Event, ...]
) -> None:
    shuffled = data.draw(st.permutations(events))

    assert fold(request(), shuffled).reactions == fold(request(), events).reactions


@given(histories())
@settings(max_examples=50)
def test_at_most_the_last_suspicion_is_open_and_each_begins_after_the_one_before(
    events: tuple[Event, ...],
) -> None:
    episode = fold(request(), events)
    ends = [one.closed_at for one in episode.reactions]

    assert None not in ends[:-1]
    assert (episode.reaction is None) == (not ends or ends[-1] is not None)
    for before, after in pairwise(episode.reactions):
        assert before.closed_at is not None
        assert before.closed_at <= after.since


@given(st.data(), histories())
@settings(max_examples=50)
def test_a_voided_step_was_never_done(data: st.DataObject, events: tuple[Event, ...]) -> None:
    steps = [one for one in events if isinstance(one.payload, ReactionStep)]
    if not steps:
        return
    mistake = data.draw(st.sampled_from(steps))
    void = event(99, 500, Voided(mistake.id, "slip"))

    with_void = fold(request(), [*events, void]).reactions
    without = fold(request(), [one for one in events if one is not mistake]).reactions
    assert with_void == without


def test_the_end_of_the_unit_closes_no_suspicion() -> None:
    (one,) = suspicions(SUSPECTED, (21, Stopped("suspected reaction")))

    assert one == replace(one, closed_at=None, outcome=None)
