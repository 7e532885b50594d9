"""Every kind of event in every phase: what each phase allows, and the words of a refusal."""

from typing import Final

import pytest

from server.domain.errors import Refused
from server.domain.fold import fold
from server.domain.payloads import (
    Available,
    Cancelled,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Resumed,
    Returned,
    Started,
)
from server.domain.words import Fate, Kind, Phase
from tests.domain.builders import Fact, request, told
from tests.domain.samples import SAMPLE

SUSPECTED = (15, ReactionSuspected(("rash",)))
ISSUED = ((0, Issued()),)
RUNNING = (*ISSUED, (10, Started(60)), SUSPECTED)
ENDED = (*RUNNING, (90, Completed()))

REACHED: Final[dict[Phase, tuple[Fact, ...]]] = {
    Phase.REQUESTED: (),
    Phase.AVAILABLE: ((-30, Available()),),
    Phase.ISSUED: ISSUED,
    Phase.RUNNING: RUNNING,
    Phase.PAUSED: (*RUNNING, (30, Paused())),
    Phase.ENDED: ENDED,
    Phase.CLOSED: (*ENDED, (100, FateRecorded(Fate.TRANSFUSED))),
    Phase.RETURNED: (*ISSUED, (20, Returned())),
    Phase.DISCARDED: (*ISSUED, (20, Discarded("dropped"))),
    Phase.CANCELLED: ((0, Cancelled("not needed")),),
}

ALWAYS = (
    Kind.OBSERVED,
    Kind.ASSIGNED,
    Kind.ACKNOWLEDGED,
    Kind.NOTE,
    Kind.CAUSE_GIVEN,
    Kind.WARNED,
    Kind.WARNING_CHECKED,
    Kind.VOIDED,
)
REACTION = (Kind.REACTION_SUSPECTED, Kind.REACTION_STEP, Kind.REACTION_CLOSED)
LINE = (Kind.SET_HUNG, Kind.SET_CHANGED)
GIVING = (
    Kind.CONFIRMED,
    *LINE,
    Kind.FLUSHED,
    Kind.VOLUME_READ,
    Kind.STOPPED,
    Kind.COMPLETED,
    *REACTION,
)

ALLOWED_IN: Final[dict[Phase, tuple[Kind, ...]]] = {
    Phase.REQUESTED: (Kind.AVAILABLE, Kind.ISSUED, Kind.CANCELLED, Kind.CONFIRMED),
    Phase.AVAILABLE: (Kind.ISSUED, Kind.CANCELLED, Kind.CONFIRMED),
    Phase.ISSUED: (
        Kind.CONFIRMED,
        Kind.RECEIVED,
        Kind.INSPECTED,
        Kind.IDENTITY_CHECKED,
        Kind.SPIKED,
        *LINE,
        Kind.STARTED,
        Kind.RETURNED,
        Kind.DISCARDED,
    ),
    Phase.RUNNING: (*GIVING, Kind.RATE_SET, Kind.PAUSED),
    Phase.PAUSED: (*GIVING, Kind.RESUMED),
    Phase.ENDED: (
        Kind.FLUSHED,
        Kind.VOLUME_READ,
        *REACTION,
        Kind.RETURNED,
        Kind.DISCARDED,
        Kind.FATE,
    ),
    Phase.CLOSED: (Kind.FLUSHED, *REACTION),
    Phase.RETURNED: (Kind.FATE,),
    Phase.DISCARDED: (Kind.FATE,),
    Phase.CANCELLED: (),
}

BECOMES: Final[dict[tuple[Phase, Kind], Phase]] = {
    (Phase.REQUESTED, Kind.AVAILABLE): Phase.AVAILABLE,
    (Phase.REQUESTED, Kind.ISSUED): Phase.ISSUED,
    (Phase.AVAILABLE, Kind.ISSUED): Phase.ISSUED,
    (Phase.REQUESTED, Kind.CANCELLED): Phase.CANCELLED,
    (Phase.AVAILABLE, Kind.CANCELLED): Phase.CANCELLED,
    (Phase.ISSUED, Kind.STARTED): Phase.RUNNING,
    (Phase.ISSUED, Kind.RETURNED): Phase.RETURNED,
    (Phase.ISSUED, Kind.DISCARDED): Phase.DISCARDED,
    (Phase.RUNNING, Kind.PAUSED): Phase.PAUSED,
    (Phase.PAUSED, Kind.RESUMED): Phase.RUNNING,
    (Phase.RUNNING, Kind.STOPPED): Phase.ENDED,
    (Phase.RUNNING, Kind.COMPLETED): Phase.ENDED,
    (Phase.PAUSED, Kind.STOPPED): Phase.ENDED,
    (Phase.PAUSED, Kind.COMPLETED): Phase.ENDED,
    (Phase.ENDED, Kind.FATE): Phase.CLOSED,
    (Phase.RETURNED, Kind.FATE): Phase.CLOSED,
    (Phase.DISCARDED, Kind.FATE): Phase.CLOSED,
}


def is_allowed(phase: Phase, kind: Kind) -> bool:
    return kind in ALWAYS or kind in ALLOWED_IN[phase]


PAIRS = [(phase, kind) for phase in Phase for kind in Kind]
LEGAL = [pair for pair in PAIRS if is_allowed(*pair)]
REFUSED = [pair for pair in PAIRS if not is_allowed(*pair)]


@pytest.mark.parametrize("phase", Phase)
def test_each_phase_is_reached(phase: Phase) -> None:
    assert fold(request(), told(*REACHED[phase])).phase is phase


@pytest.mark.parametrize(("phase", "kind"), LEGAL)
def test_an_allowed_event_leads_to_its_phase(phase: Phase, kind: Kind) -> None:
    episode = fold(request(), told(*REACHED[phase], (120, SAMPLE[kind])))

    assert episode.phase is BECOMES.get((phase, kind), phase)


@pytest.mark.parametrize(("phase", "kind"), REFUSED)
def test_any_other_event_is_refused_with_the_phase_and_what_was_expected(
    phase: Phase, kind: Kind
) -> None:
    expected = " or ".join(name for name in Phase if is_allowed(name, kind))

    with pytest.raises(Refused) as refused:
        fold(request(), told(*REACHED[phase], (120, SAMPLE[kind])))

    assert (refused.value.reason, refused.value.phase, refused.value.field) == (
        f"{kind} at 12:00:00 UTC is not possible: the episode is {phase} then; expected {expected}",
        phase,
        "kind",
    )


@pytest.mark.parametrize(
    ("facts", "message"),
    [
        (
            ((5, Started(60)),),
            (
                "started at 10:05:00 UTC is not possible: the episode is requested then; "
                "expected issued"
            ),
        ),
        (
            (*RUNNING, (30, Started(60))),
            "started at 10:30:00 UTC is not possible: the episode is running then; expected issued",
        ),
        (
            (*ISSUED, (5, Completed())),
            (
                "completed at 10:05:00 UTC is not possible: the episode is issued then; "
                "expected running or paused"
            ),
        ),
        (
            (*ENDED, (95, Completed())),
            (
                "completed at 11:35:00 UTC is not possible: the episode is ended then; "
                "expected running or paused"
            ),
        ),
        (
            (*RUNNING, (8, Completed())),
            (
                "completed at 10:08:00 UTC is not possible: the episode is issued then; "
                "expected running or paused"
            ),
        ),
        (
            (*ENDED, (60, FateRecorded(Fate.TRANSFUSED))),
            (
                "fate at 11:00:00 UTC is not possible: the episode is running then; "
                "expected ended or returned or discarded"
            ),
        ),
        (
            (*RUNNING, (40, Paused()), (30, Paused())),
            "paused at 10:40:00 UTC is not possible: the episode is paused then; expected running",
        ),
    ],
)
def test_refusals_in_full(facts: tuple[Fact, ...], message: str) -> None:
    with pytest.raises(Refused) as refused:
        fold(request(), told(*facts))

    assert str(refused.value) == message


def test_the_first_event_in_bedside_order_is_the_one_refused() -> None:
    """Recorded first or last makes no difference."""
    facts = (*ISSUED, (50, Resumed()), (20, RateSet(80)))
    messages = []
    for events in (told(*facts), tuple(reversed(told(*facts)))):
        with pytest.raises(Refused) as refused:
            fold(request(), events)
        messages.append(str(refused.value))

    assert (
        messages
        == [
            "rate_set at 10:20:00 UTC is not possible: the episode is issued then; expected running"
        ]
        * 2
    )


@pytest.mark.parametrize("payload", [ReactionStep("call"), ReactionClosed("none")])
def test_the_pathway_of_a_reaction_needs_a_suspicion(payload: Payload) -> None:
    events = told(*ISSUED, (10, Started(60)), (20, payload))

    with pytest.raises(Refused) as refused:
        fold(request(), events)

    assert (refused.value.reason, refused.value.phase) == (
        f"{events[-1].kind}: no reaction is suspected",
        Phase.RUNNING,
    )


@pytest.mark.parametrize("fate", [Fate.TRANSFUSED, Fate.PART_TRANSFUSED])
def test_a_unit_that_was_never_started_was_not_transfused(fate: Fate) -> None:
    with pytest.raises(Refused) as refused:
        fold(request(), told(*REACHED[Phase.RETURNED], (40, FateRecorded(fate))))

    assert (refused.value.reason, refused.value.phase, refused.value.field) == (
        f"fate {fate}: the unit was never started",
        Phase.RETURNED,
        "fate",
    )


@pytest.mark.parametrize("before", [(), ((-30, Available()),)])
def test_a_record_from_elsewhere_may_start_without_an_issue(before: tuple[Fact, ...]) -> None:
    episode = fold(request(history=True), told(*before, (0, Started(60))))

    assert (episode.phase, episode.issued_at) == (Phase.RUNNING, None)


def test_a_record_from_elsewhere_is_refused_everything_else_the_phase_does_not_allow() -> None:
    with pytest.raises(Refused) as refused:
        fold(request(history=True), told((0, Completed())))

    assert str(refused.value) == (
        "completed at 10:00:00 UTC is not possible: the episode is requested then; "
        "expected running or paused"
    )
