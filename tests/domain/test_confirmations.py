"""Confirmed steps: when each may be confirmed, what it keeps, what the policy may require of it."""

from dataclasses import replace

import pytest

from server.domain.confirmations import STEPS
from server.domain.errors import Invalid, Refused
from server.domain.fold import fold
from server.domain.gate import Gap, gaps_before_start
from server.domain.payloads import Completed, Confirmed, Issued, Paused, Started
from server.domain.policy import PolicyError, parse_policy
from server.domain.words import Confirmation, Phase
from tests.domain.builders import (
    CHECKED,
    POLICIES,
    SOUND,
    Fact,
    at,
    case,
    facts_from,
    request,
    told,
    with_policy,
)

ISSUED: tuple[Fact, ...] = ((0, Issued()),)
RUNNING: tuple[Fact, ...] = (*ISSUED, (10, Started(60)))
REACHED: dict[Phase, tuple[Fact, ...]] = {
    Phase.REQUESTED: (),
    Phase.ISSUED: ISSUED,
    Phase.RUNNING: RUNNING,
    Phase.PAUSED: (*RUNNING, (20, Paused())),
    Phase.ENDED: (*RUNNING, (60, Completed())),
}
BEFORE = {Phase.REQUESTED, Phase.ISSUED}
GIVING = {Phase.RUNNING, Phase.PAUSED}
ALLOWED = {
    Confirmation.ORDER_CONSENT: BEFORE,
    Confirmation.GROUP_SAMPLE: BEFORE,
    Confirmation.ACCESS: BEFORE | GIVING,
    Confirmation.COLLECTED: {Phase.ISSUED},
    Confirmation.RATE_REVIEWED: GIVING,
    Confirmation.REASSESSED: {Phase.ENDED, Phase.CLOSED},
}


@pytest.mark.parametrize("phase", REACHED)
@pytest.mark.parametrize("step", Confirmation)
def test_a_step_is_confirmed_in_its_phases_only(step: Confirmation, phase: Phase) -> None:
    events = told(*REACHED[phase], (90, Confirmed(step)))

    if phase in ALLOWED[step]:
        assert fold(request(), events).confirmed == {step: events[-1]}
    else:
        with pytest.raises(Refused, match=r"^confirmed at 11:30:00 UTC is not possible"):
            fold(request(), events)


def test_every_step_has_its_entry() -> None:
    assert set(STEPS) == set(Confirmation)


def test_the_latest_confirmation_of_a_step_stands() -> None:
    first = Confirmed(Confirmation.ACCESS, "left forearm", "18G")
    events = told(*ISSUED, (1, first), (2, replace(first, site="right hand", gauge=None)))

    confirmed = fold(request(), events).confirmed[Confirmation.ACCESS]

    assert confirmed.payload == Confirmed(Confirmation.ACCESS, "right hand")


@pytest.mark.parametrize("field", ["site", "gauge"])
def test_only_access_has_a_cannula(field: str) -> None:
    with pytest.raises(Invalid) as refused:
        Confirmed(Confirmation.COLLECTED, **{field: "x"})

    assert (refused.value.field, refused.value.message) == (
        field, "does not belong to collected; expected with access only"
    )  # fmt: skip


def test_a_policy_may_require_confirmations_before_the_start() -> None:
    wanted = {"order_consent", "group_sample", "access", "inspected", "identity_checked"}
    strict = with_policy(start_requires=frozenset(wanted))
    done = ((1, SOUND), (2, CHECKED), (3, Confirmed(Confirmation.GROUP_SAMPLE)))

    assert gaps_before_start(facts_from(case(*ISSUED, *done, policy=strict)), at(5)) == (
        Gap("order_consent", "order and consent were not confirmed"),
        Gap("access", "line and access were not checked"),
    )


def local(steps: str, more: str = "") -> str:
    head = '[policy]\ntitle = "Local"\nbased_on = "common"\n'
    listed = ", ".join(f'"{step}"' for step in steps.split())
    return f'{head}[pathway.steps]\nvalue = [{listed}]\nsource = "agreed"\n{more}'


WITHOUT = (
    "received identity_checked baseline started first_check running_checks finished end_set fate"
)


def test_a_policy_may_leave_out_what_no_unit_needs() -> None:
    policy = parse_policy(local(WITHOUT), name="local", bases=POLICIES)

    assert policy.pathway_steps == frozenset(WITHOUT.split())


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        (
            local(WITHOUT.replace("identity_checked ", "")),
            5,
            "pathway.steps: identity_checked is left out; no unit can be given without it",
        ),
        (
            local(WITHOUT, '[start.requires]\nvalue = ["access"]\nsource = "agreed"\n'),
            5,
            "pathway.steps: access is left out, though start.requires asks for access; expected it",
        ),
        (
            local(f"{WITHOUT} prayer"),
            5,
            "pathway.steps: ",
        ),
    ],
)
def test_a_pathway_that_cannot_be_walked_is_refused(text: str, line: int, message: str) -> None:
    with pytest.raises(PolicyError) as refused:
        parse_policy(text, name="local", bases=POLICIES)

    assert refused.value.line == line
    assert refused.value.message.startswith(message)
