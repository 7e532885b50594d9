"""What a suspected reaction refuses: going on, closing without its steps, throwing the bag away."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.domain.errors import Refused
from server.domain.fold import fold
from server.domain.payloads import (
    Discarded,
    FateRecorded,
    Issued,
    Note,
    Paused,
    Payload,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Resumed,
    Started,
    Stopped,
    Warned,
    WarningChecked,
)
from server.domain.policy import Policy
from server.domain.reaction_gate import require_reaction_sound
from server.domain.words import Fate, Phase
from tests.domain.builders import COMMON, Fact, at, request, told, with_policy

PAUSED: tuple[Fact, ...] = (
    (0, Issued()),
    (10, Started(60)),
    (20, ReactionSuspected()),
    (21, Paused()),
)
STRICT = with_policy(reaction_close_requires=frozenset({"tell_laboratory", "stop"}))


def instant(when: int | datetime) -> datetime:
    return when if isinstance(when, datetime) else at(when)


def refusal(*facts: Fact, policy: Policy = COMMON) -> Refused | None:
    """How the last of the facts is refused, None if it is not."""
    *_, (minute, payload) = facts
    episode = fold(request(), told(*facts))
    try:
        require_reaction_sound(episode, policy, payload, instant(minute))
    except Refused as refused:
        return refused
    return None


def test_a_unit_does_not_go_on_while_a_reaction_is_suspected() -> None:
    refused = refusal(*PAUSED, (30, Resumed()))

    assert refused is not None
    assert refused.reason == (
        "A reaction is suspected: close it with its outcome, or name the clinician who decided to "
        "resume."
    )
    assert (refused.field, refused.phase) == ("decided_by", Phase.RUNNING)


@pytest.mark.parametrize(
    "facts",
    [
        ((30, Resumed(decided_by="Dr Ash")),),
        ((29, ReactionClosed("none")), (30, Resumed())),
        ((30, ReactionClosed("none")), (30, Resumed())),
    ],
)
def test_it_goes_on_by_a_clinicians_decision_or_after_the_closing(facts: tuple[Fact, ...]) -> None:
    assert refusal(*PAUSED, *facts) is None


def test_a_pause_without_a_suspicion_ends_as_it_always_did() -> None:
    assert refusal((0, Issued()), (10, Started(60)), (20, Paused()), (21, Resumed())) is None


def test_a_suspicion_is_closed_after_the_steps_the_policy_asks_for() -> None:
    early = refusal(*PAUSED, (22, ReactionStep("stop")), (30, ReactionClosed("x")), policy=STRICT)
    steps = ((22, ReactionStep("stop")), (23, ReactionStep("tell_laboratory")))

    assert early is not None
    assert early.reason == (
        "Not closed: the policy asks for these steps first: Tell the transfusion laboratory."
    )
    assert refusal(*PAUSED, *steps, (30, ReactionClosed("x")), policy=STRICT) is None
    assert refusal(*PAUSED, (30, ReactionClosed("x"))) is None


def test_the_steps_of_an_earlier_suspicion_do_not_count() -> None:
    steps = ((22, ReactionStep("stop")), (23, ReactionStep("tell_laboratory")))
    again = ((30, ReactionClosed("x")), (40, ReactionSuspected()), (50, ReactionClosed("y")))

    refused = refusal(*PAUSED, *steps, *again, policy=STRICT)

    assert refused is not None
    assert "Stop: clamp the line, keep the bag; Tell the transfusion" in refused.reason


STOPPED: tuple[Fact, ...] = (*PAUSED, (22, Stopped("suspected reaction")))
KEEPS_NOTHING = with_policy(reaction_steps=("stop", "tell_clinician"))


@pytest.mark.parametrize("thrown", [Discarded("dripped"), FateRecorded(Fate.DISCARDED)])
def test_the_bag_of_a_suspicion_is_not_thrown_away(thrown: Payload) -> None:
    """BCSH 2012 (summary): keep the bag; Lifeblood, monitoring page: return it with its set."""
    refused = refusal(*STOPPED, (30, thrown))

    assert refused is not None
    assert refused.reason == (
        "Not discarded. A reaction is suspected: bag and set go back to the laboratory, nothing is "
        "thrown away."
    )


@pytest.mark.parametrize(
    ("before", "minute", "policy"),
    [
        (((25, ReactionStep("return_bag")),), 30, COMMON),
        (((29, ReactionClosed("not a reaction")),), 30, COMMON),
        (((40, ReactionClosed("not a reaction")),), 30, COMMON),
        ((), 30, KEEPS_NOTHING),
    ],
    ids=["it is returned", "closed", "told late, after the closing", "the policy wants no bag"],
)
def test_it_may_be_when_the_laboratory_no_longer_waits(
    before: tuple[Fact, ...], minute: int, policy: Policy
) -> None:
    assert (
        refusal(*STOPPED, *before, (minute, Discarded("by the laboratory")), policy=policy) is None
    )


def test_what_became_of_the_bag_before_is_no_matter() -> None:
    ended = ((0, Issued()), (10, Started(60)), (20, Stopped("burst")), (40, ReactionSuspected()))

    assert refusal(*ended, (30, Discarded("burst"))) is None
    assert refusal(*STOPPED, (30, FateRecorded(Fate.PART_TRANSFUSED))) is None


def test_only_a_warning_that_stands_is_checked() -> None:
    warned = (22, Warned("e9", "7"))
    nothing = refusal(*PAUSED, (30, WarningChecked("fine")))

    assert nothing is not None
    assert nothing.reason == "there is no open warning on this unit"
    assert refusal(*PAUSED, warned, (30, WarningChecked("fine"))) is None
    twice = ((30, WarningChecked("fine")), (31, WarningChecked("fine")))
    assert refusal(*PAUSED, warned, *twice) is not None


@pytest.mark.parametrize("payload", [Note("x"), ReactionStep("stop"), ReactionSuspected()])
def test_other_facts_are_nobodys_to_refuse_here(payload: Payload) -> None:
    assert refusal(*PAUSED, (30, payload)) is None


def test_what_a_clinician_decided_is_kept() -> None:
    assert replace(Resumed(), decided_by="Dr Ash") == Resumed(None, "Dr Ash")
