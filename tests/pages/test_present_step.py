"""Which step of the pathway is present, and which steps a local policy has at all."""

from dataclasses import replace

import pytest

from server.domain.payloads import (
    Available,
    Cancelled,
    Completed,
    Confirmed,
    Discarded,
    FateRecorded,
    Flushed,
    IdentityChecked,
    Inspected,
    Issued,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Received,
    Returned,
    Spiked,
    Started,
    Stopped,
)
from server.domain.picture import picture
from server.domain.policy import Policy
from server.domain.words import ClockName, Confirmation, Fate
from server.pages.episodes.pathway import STEP_OF_CLOCK, STEP_OF_GAP, STEPS, asked_steps, title_of
from server.pages.episodes.present import present_step
from tests.domain.builders import COMMON, FULL, POLICIES, Fact, at, case, with_policy
from tests.pages.recordings import MATCHED

CHECKED = IdentityChecked("nurse-1", MATCHED, "nurse-2")
WRONG = IdentityChecked("nurse-1", (replace(MATCHED[0], matched=False),), "nurse-2")
CONSENT = (-30, Confirmed(Confirmation.ORDER_CONSENT))
SAMPLE = (-29, Confirmed(Confirmation.GROUP_SAMPLE))
ACCESS = (-28, Confirmed(Confirmation.ACCESS, "left forearm"))
CONFIRMED: tuple[Fact, ...] = (CONSENT, SAMPLE, ACCESS)
ISSUED: tuple[Fact, ...] = (*CONFIRMED, (0, Issued()))
RECEIVED: tuple[Fact, ...] = (*ISSUED, (2, Received()))
READY: tuple[Fact, ...] = (*RECEIVED, (3, Inspected()), (4, CHECKED), (5, FULL), (6, Spiked()))
RUNNING: tuple[Fact, ...] = (*READY, (10, Started(60)))
REVIEWED: tuple[Fact, ...] = (*RUNNING, (25, FULL), (26, Confirmed(Confirmation.RATE_REVIEWED)))
ENDED: tuple[Fact, ...] = (*REVIEWED, (60, Completed()))
TRANSFUSED = FateRecorded(Fate.TRANSFUSED)
SHORT = with_policy(
    pathway_steps=COMMON.pathway_steps
    - {"order_consent", "group_sample", "access", "collected", "rate_reviewed", "flushed", "spiked"}
)


@pytest.mark.parametrize(
    ("facts", "minute", "step"),
    [
        ((), 0, "consent"),
        ((CONSENT,), 0, "sample"),
        ((CONSENT, SAMPLE), 0, "access"),
        (CONFIRMED, 0, "issue"),
        (((-5, Cancelled("not wanted")),), 0, ""),
        (((0, Issued()),), 1, "consent"),
        (ISSUED, 1, "receipt"),
        (RECEIVED, 3, "receipt"),
        ((*RECEIVED, (3, Inspected())), 4, "identity"),
        ((*RECEIVED, (3, Inspected()), (4, WRONG)), 5, "identity"),
        ((*RECEIVED, (3, Inspected()), (4, replace(CHECKED, second_by=None))), 5, "identity"),
        ((*RECEIVED, (3, Inspected()), (4, CHECKED)), 5, "baseline"),
        (READY[:-1], 6, "line"),
        (READY, 7, "start"),
        (READY, 66, "baseline"),
        (RUNNING, 12, "first"),
        ((*RUNNING, (25, FULL)), 26, "rate"),
        (REVIEWED, 30, "running"),
        ((*RUNNING, (25, FULL), (26, RateSet(150))), 30, "running"),
        ((*RUNNING, (12, RateSet(50)), (25, FULL)), 26, "rate"),
        ((*RUNNING, (12, Paused())), 13, "running"),
        ((*RUNNING, (12, ReactionSuspected())), 13, "end"),
        ((*REVIEWED, (27, RateSet(600))), 60, "end"),
        (REVIEWED, 241, "end"),
        (ENDED, 61, "flush"),
        ((*ENDED, (62, Flushed(5))), 63, "after"),
        ((*ENDED, (70, FULL)), 71, "bag"),
        ((*ENDED, (70, FULL), (75, TRANSFUSED)), 76, ""),
        ((*RUNNING, (12, ReactionSuspected()), (13, Stopped("fever"))), 14, "after"),
        (((0, Issued()), (10, Returned())), 11, ""),
        (((0, Issued()), (10, Discarded("warm"))), 11, ""),
    ],
)  # fmt: skip
def test_one_step_is_present(facts: tuple[Fact, ...], minute: int, step: str) -> None:
    assert present_step(picture(case(*facts), at(minute))) == step


def test_a_reaction_that_was_closed_leaves_nothing_to_be_flushed_in() -> None:
    closed = ((12, ReactionSuspected()), (13, Stopped("fever")), (40, ReactionClosed("none")))

    assert present_step(picture(case(*RUNNING, *closed), at(41))) == "after"


@pytest.mark.parametrize(
    ("facts", "minute", "step"),
    [
        ((), 0, "issue"),
        (((-5, Available()),), 0, "issue"),
        (((0, Issued()),), 1, "receipt"),
        (READY[3:-1], 6, "start"),
        ((*READY[3:], (10, Started(60)), (25, FULL)), 26, "running"),
        ((*READY[3:], (10, Started(60)), (25, FULL), (60, Completed())), 61, "after"),
    ],
)  # fmt: skip
def test_what_the_policy_does_not_ask_for_is_never_present(
    facts: tuple[Fact, ...], minute: int, step: str
) -> None:
    assert present_step(picture(case(*facts, policy=SHORT), at(minute))) == step


def test_a_policy_shows_the_steps_that_it_asks_for() -> None:
    assert [step.key for step in asked_steps(SHORT)] == [
        "issue", "receipt", "identity", "baseline", "start", "first", "running", "end", "after",
        "bag", "reassess",
    ]  # fmt: skip


@pytest.mark.parametrize("policy", POLICIES.values(), ids=POLICIES)
def test_every_shipped_policy_shows_the_whole_pathway(policy: Policy) -> None:
    assert asked_steps(policy) == STEPS


@pytest.mark.parametrize(("name", "title"), [("common", "Running checks"), ("uk", "While it runs")])
def test_running_checks_are_called_so_where_they_are_owed(name: str, title: str) -> None:
    running = next(step for step in STEPS if step.key == "running")

    assert title_of(running, POLICIES[name]) == title


def test_every_clock_and_every_gap_has_its_step() -> None:
    keys = {step.key for step in STEPS}

    assert set(STEP_OF_CLOCK) >= set(ClockName) - {"reaction_check"}
    assert set(STEP_OF_CLOCK.values()) | set(STEP_OF_GAP.values()) <= keys
