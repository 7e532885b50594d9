"""The pathway of a unit: its steps in order, and which of them the local policy asks for."""

from dataclasses import dataclass
from typing import Final

from server.domain.policy import Policy
from server.domain.words import ClockName, Confirmation, Kind
from server.pages.event_forms.confirming import LOCAL

Act = Kind | Confirmation


@dataclass(frozen=True, slots=True)
class Step:
    """One step, what is recorded in it, and the word of `pathway.steps` that asks for it."""

    key: str
    title: str
    asked: str
    acts: tuple[Act, ...]
    hint: str = ""


STEPS: Final = (
    Step("consent", "Order and consent", "order_consent", (Confirmation.ORDER_CONSENT,)),
    Step("sample", "Group and sample", "group_sample", (Confirmation.GROUP_SAMPLE,)),
    Step("access", "Line and access", "access", (Confirmation.ACCESS,)),
    Step(
        "issue",
        "Collection",
        "collected",
        (Kind.ISSUED, Kind.AVAILABLE, Confirmation.COLLECTED, Kind.CANCELLED),
    ),
    Step("receipt", "Receipt and inspection", "received", (Kind.RECEIVED, Kind.INSPECTED)),
    Step("identity", "Identity check", "identity_checked", (Kind.IDENTITY_CHECKED,)),
    Step("baseline", "Baseline observations", "baseline", (Kind.OBSERVED,)),
    Step(
        "line",
        "Spiked and primed",
        "spiked",
        (Kind.SPIKED, Kind.SET_HUNG),
        f"Only 0.9 % saline or the component itself primes the set. {LOCAL}",
    ),
    Step("start", "Start, slowly", "started", (Kind.STARTED,)),
    Step("first", "First check", "first_check", (Kind.OBSERVED,)),
    Step("rate", "Rate review", "rate_reviewed", (Kind.RATE_SET, Confirmation.RATE_REVIEWED)),
    Step(
        "running",
        "While it runs",
        "running_checks",
        (
            Kind.OBSERVED,
            Kind.RATE_SET,
            Kind.VOLUME_READ,
            Kind.PAUSED,
            Kind.RESUMED,
            Kind.SET_CHANGED,
        ),
    ),
    Step("end", "End of the unit", "finished", (Kind.COMPLETED, Kind.STOPPED)),
    Step("flush", "Flush", "flushed", (Kind.FLUSHED,), f"3 to 5 mL of 0.9 % saline. {LOCAL}"),
    Step("after", "End observations", "end_set", (Kind.OBSERVED,)),
    Step("bag", "Bag and fate", "fate", (Kind.FATE, Kind.RETURNED, Kind.DISCARDED)),
    Step("reassess", "Reassessment", "reassessed", (Confirmation.REASSESSED,)),
)
_ALWAYS: Final = frozenset({"issue"})

STEP_OF_CLOCK: Final[dict[ClockName, str]] = {
    ClockName.START: "start",
    ClockName.RETURN: "start",
    ClockName.FINISH: "end",
    ClockName.BASELINE_CHECK: "baseline",
    ClockName.FIRST_CHECK: "first",
    ClockName.RUNNING_CHECK: "running",
    ClockName.END_CHECK: "after",
    ClockName.SET_CHANGE: "running",
    ClockName.LATE_WATCH: "after",
    ClockName.FATE: "bag",
}
"""Where each clock is met, for `?step=` in the address of a unit."""

STEP_OF_GAP: Final = {step.asked: step.key for step in STEPS} | {"inspected": "receipt"}
"""Where each thing that is missing before the start is done."""


def asked_steps(policy: Policy) -> tuple[Step, ...]:
    """Answer the steps that the policy asks for, in order; without an issue nothing can follow."""
    asked = policy.pathway_steps
    return tuple(step for step in STEPS if step.asked in asked or step.key in _ALWAYS)


def title_of(step: Step, policy: Policy) -> str:
    """Answer the title; where checks are owed while the unit runs, it says so."""
    if step.key == "running" and policy.running_every:
        return "Running checks"
    return step.title
