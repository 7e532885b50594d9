"""The fold: what each event leaves in the episode."""

from dataclasses import replace

import pytest

from server.domain.episode import Acknowledgement, Assignment, Cause, Episode, Flow
from server.domain.fold import fold
from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Available,
    Cancelled,
    CauseGiven,
    Completed,
    Discarded,
    FateRecorded,
    Flushed,
    Inspected,
    Issued,
    Note,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Received,
    Resumed,
    Returned,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    Voided,
    VolumeRead,
)
from server.domain.reaction import Suspicion, Ticked
from server.domain.words import BloodGroup, ClockName, Fate, Phase
from tests.domain.builders import CHECKED, FULL, PARTIAL, SOUND, Fact, at, event, request, told

ISSUED, STARTED = (0, Issued()), (10, Started(60))
LABEL = Issued(
    removed_at=at(-10),
    unit_number="W0000 26 123456",
    product_code="E0382V00",
    blood_group=BloodGroup.O_NEG,
    expires_at=at(600),
    volume_ml=290,
)
PATHWAY: tuple[Fact, ...] = (
    (-60, Available()),
    (0, LABEL),
    (2, Assigned("nurse-3")),
    (3, Received()),
    (4, SOUND),
    (5, CHECKED),
    (6, FULL),
    (7, SetHung()),
    (8, Spiked()),
    (10, Started(60, site="left forearm", override_reason="known to the ward")),
    (20, Acknowledged(ClockName.FIRST_CHECK, "nurse-3")),
    (25, FULL),
    (26, RateSet(150)),
    (40, SetChanged()),
    (50, VolumeRead(70)),
    (55, Paused("to the toilet")),
    (57, Resumed(140)),
    (60, Note("sleeping")),
    (90, Completed(given_ml=285)),
    (91, Flushed(5)),
    (95, Returned("empty bag")),
    (96, FateRecorded(Fate.TRANSFUSED)),
    (99, CauseGiven(ClockName.FIRST_CHECK, "busy", "two units at once", n=1)),
)
EVENTS = told(*PATHWAY)
LEFT = Episode(
    request=request(),
    phase=Phase.CLOSED,
    revision=23,
    nurse_id="nurse-3",
    volume_ml=290,
    unit_number="W0000 26 123456",
    product_code="E0382V00",
    blood_group=BloodGroup.O_NEG,
    expires_at=at(600),
    available_at=at(-60),
    issued_at=at(0),
    removed_at=at(-10),
    received_at=at(3),
    inspected_at=at(4),
    inspection=SOUND,
    identity_at=at(5),
    identity=CHECKED,
    spiked_at=at(8),
    started_at=at(10),
    override_reason="known to the ward",
    ended_at=at(90),
    moved_at=at(95),
    fate=Fate.TRANSFUSED,
    fate_at=at(96),
    hung=[at(7), at(40)],
    flow=[
        Flow(at(10), rate_ml_h=60),
        Flow(at(26), rate_ml_h=150),
        Flow(at(50), given_ml=70),
        Flow(at(55), rate_ml_h=0.0),
        Flow(at(57), rate_ml_h=140),
        Flow(at(90), rate_ml_h=0.0),
        Flow(at(90), given_ml=285),
    ],
    observations=[EVENTS[6], EVENTS[11]],
    acknowledgements=[Acknowledgement(at(20), ClockName.FIRST_CHECK, "nurse-3")],
    causes=[Cause(ClockName.FIRST_CHECK, 1, "busy", "two units at once", at(99))],
    assignments=[Assignment(at(2), "nurse-3")],
)


def folded(*facts: Fact) -> Episode:
    return fold(request(), told(*facts))


def test_a_request_without_events_is_requested() -> None:
    asked = request(nurse_id="nurse-9", volume_ml=250)

    assert fold(asked, ()) == Episode(request=asked, nurse_id="nurse-9", volume_ml=250)


def test_a_whole_pathway_leaves_every_fact_in_its_place() -> None:
    assert fold(request(), EVENTS) == LEFT


def test_without_a_removal_the_unit_left_storage_at_the_issue() -> None:
    assert folded(ISSUED).removed_at == at(0)


def test_a_bag_not_seen_to_be_entered_was_entered_at_the_start() -> None:
    assert folded(ISSUED, STARTED).spiked_at == at(10)


def test_the_issue_keeps_the_ordered_volume_if_the_label_gives_none() -> None:
    assert folded(ISSUED).volume_ml == 280


def test_a_stop_keeps_its_reason_and_a_completion_has_none() -> None:
    stopped = folded(ISSUED, STARTED, (50, Stopped("fever")))
    completed = folded(ISSUED, STARTED, (50, Completed()))

    assert (stopped.phase, stopped.stopped_reason) == (Phase.ENDED, "fever")
    assert (completed.phase, completed.stopped_reason) == (Phase.ENDED, None)


def test_a_finding_stands_when_the_bag_is_looked_at_again() -> None:
    leak = Inspected(leak=True)
    episode = folded(ISSUED, (1, leak), (2, SOUND))

    assert (episode.inspection, episode.inspected_at) == (leak, at(2))
    assert folded(ISSUED, (1, SOUND), (2, leak)).inspection == leak


def test_a_voided_finding_no_longer_stands() -> None:
    facts = (ISSUED, (1, Inspected(leak=True)), (2, SOUND), (3, Voided("e2", "it was water")))

    assert folded(*facts).inspection == SOUND


def test_the_last_identity_check_counts() -> None:
    broken = replace(CHECKED, interrupted=True)

    assert folded(ISSUED, (1, broken), (2, CHECKED)).identity == CHECKED
    assert folded(ISSUED, (1, CHECKED), (2, broken)).identity == broken


@pytest.mark.parametrize(
    ("away", "phase", "fate"),
    [
        (Returned(), Phase.RETURNED, Fate.RETURNED),
        (Discarded("dropped"), Phase.DISCARDED, Fate.DISCARDED),
    ],
)
def test_a_unit_that_leaves_unstarted_has_its_fate_at_once(
    away: Returned | Discarded, phase: Phase, fate: Fate
) -> None:
    episode = folded(ISSUED, (20, away))

    assert (episode.phase, episode.fate, episode.fate_at, episode.moved_at) == (
        phase,
        fate,
        at(20),
        at(20),
    )


def test_recording_that_fate_again_keeps_the_instant_of_the_movement() -> None:
    episode = folded(ISSUED, (20, Returned()), (90, FateRecorded(Fate.DISCARDED)))

    assert (episode.phase, episode.fate, episode.fate_at) == (
        Phase.CLOSED,
        Fate.DISCARDED,
        at(20),
    )


def test_a_bag_that_goes_back_after_the_end_still_needs_its_fate() -> None:
    episode = folded(ISSUED, STARTED, (50, Completed()), (60, Discarded("empty")))

    assert (episode.phase, episode.fate, episode.moved_at, episode.ended_at) == (
        Phase.ENDED,
        None,
        at(60),
        at(50),
    )


def test_a_cancelled_request_is_over() -> None:
    episode = folded((0, Cancelled("not needed")))

    assert (episode.phase, episode.moved_at, episode.fate) == (Phase.CANCELLED, at(0), None)


def test_a_suspected_reaction_gathers_symptoms_and_steps_until_it_is_closed() -> None:
    facts: tuple[Fact, ...] = (
        ISSUED,
        STARTED,
        (20, ReactionSuspected(("rash", "itch"))),
        (21, ReactionStep("stop")),
        (23, ReactionSuspected(("itch", "fever"))),
        (24, ReactionStep("call")),
    )
    episode = folded(*facts)
    closed = folded(*facts, (90, ReactionClosed("mild allergic", "allergic")))

    ticked = (Ticked(at(21), "stop", "nurse-1", "e4"), Ticked(at(24), "call", "nurse-1", "e6"))
    open_one = Suspicion(at(20), ("rash", "itch", "fever"), ticked)
    closed_one = replace(
        open_one,
        closed_at=at(90),
        closed_by="nurse-1",
        outcome="mild allergic",
        classification="allergic",
    )
    assert (episode.reaction_at, episode.reaction) == (at(20), open_one)
    assert (closed.reaction_at, closed.reactions, closed.phase) == (
        None,
        [closed_one],
        Phase.RUNNING,
    )


def test_partial_sets_are_kept() -> None:
    events = told(ISSUED, (5, PARTIAL))

    assert fold(request(), events).observations == [events[1]]


def test_the_last_assignment_counts() -> None:
    asked = request(nurse_id="nurse-1")
    events = told(ISSUED, (1, Assigned("nurse-2")), (2, Assigned("nurse-3")))

    folded = fold(asked, events)

    assert folded.nurse_id == folded.nurse_at(None) == "nurse-3"
    assert [folded.nurse_at(at(minute)) for minute in (0, 1, 2, 9)] == [
        "nurse-1",
        "nurse-2",
        "nurse-3",
        "nurse-3",
    ]


def test_the_revision_grows_with_every_fact_and_correction() -> None:
    assert folded(ISSUED, STARTED, (12, Voided("e2", "slip"))).revision == 3
    assert fold(request(), [event(41, 0, Issued())]).revision == 41
