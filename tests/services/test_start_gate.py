"""What has to come before a start, as the ward's policy wants it."""

from dataclasses import replace

import pytest

from server.domain.errors import Refused
from server.domain.payloads import (
    Inspected,
    Payload,
    Started,
)
from server.domain.words import Phase
from tests.domain.builders import CHECKED, SOUND
from tests.services.charting import BEFORE_START, START, Charting, local_policy
from tests.services.people import (
    PROGRAM,
)

MIX_UP = replace(CHECKED, items=(replace(CHECKED.items[0], matched=False),))


@pytest.fixture
def issued(charting: Charting) -> Charting:
    """Unit `e1`, issued at the base."""
    charting.open()
    charting.issue()
    return charting


@pytest.mark.parametrize(
    ("done", "reason"),
    [
        ((CHECKED,), "the bag was not inspected"),
        ((SOUND,), "identity was not checked by two people at the bedside"),
        ((SOUND, replace(CHECKED, second_by=None)),
         "identity was checked by one person and the policy asks for two"),
        ((Inspected(clots=True), CHECKED), "the bag is not sound (clots)"),
        ((SOUND, MIX_UP), "the identity check found a mismatch (name)"),
        ((SOUND, replace(CHECKED, interrupted=True)),
         "the identity check was interrupted and starts again from the top"),
    ],
)  # fmt: skip
def test_a_start_without_what_the_policy_asks_for_is_refused(
    issued: Charting, done: tuple[Payload, ...], reason: str
) -> None:
    for payload in done:
        issued.record(5, payload)
    before = issued.everything()

    with pytest.raises(Refused) as refused:
        issued.record(10, START)

    assert refused.value.reason == f"The start is refused: {reason}."
    assert (refused.value.phase, issued.everything()) == (Phase.ISSUED, before)


@pytest.mark.parametrize(
    ("done", "started"),
    [
        (BEFORE_START, START),
        ((MIX_UP, *BEFORE_START), START),
        ((), Started(60, override_reason="massive haemorrhage")),
        ((Inspected(leak=True), CHECKED), Started(60, override_reason="consultant decided")),
    ],
    ids=["complete", "checked again", "overridden", "finding overridden"],
)
def test_a_start_is_possible(issued: Charting, done: tuple[Payload, ...], started: Started) -> None:
    for payload in done:
        issued.record(5, payload)

    issued.record(10, started)

    assert issued.state().phase is Phase.RUNNING


def test_a_mismatch_is_never_overridden(issued: Charting) -> None:
    for payload in (SOUND, MIX_UP):
        issued.record(5, payload)

    with pytest.raises(Refused, match="the identity check found a mismatch"):
        issued.record(10, Started(60, override_reason="no time"))


def test_a_policy_that_asks_for_a_baseline_refuses_the_start_without(charting: Charting) -> None:
    strict = local_policy('[start.requires]\nvalue = ["baseline"]')
    charting.put_in_force(strict, when=-60)
    charting.open()
    charting.issue()

    with pytest.raises(Refused, match="baseline observations are missing"):
        charting.record(10, START)
    charting.observe(9)
    charting.record(10, START)

    assert charting.state().phase is Phase.RUNNING


def test_a_record_of_history_is_started_without_checks(charting: Charting) -> None:
    charting.open(history=True)

    charting.record(10, START, actor=PROGRAM)

    assert charting.state().phase is Phase.RUNNING
