"""Clocks, breaches and advices, as answered."""

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.advices import Advice
from server.domain.breaches import Breach
from server.domain.clock import Clock
from server.domain.policy import Policy, source_of
from server.domain.request import Request
from server.domain.words import ClockName, ClockState


class ClockAnswer(Given):
    """One clock; `source` is where the policy has its limit from."""

    clock: ClockName
    n: int
    opens_at: Moment | None
    due_at: Moment | None
    limit_at: Moment | None
    met_at: Moment | None
    state: ClockState
    source: str


class BreachAnswer(Given):
    """A limit that was not kept; `late_minutes` is null for what can no longer be met."""

    clock: ClockName
    n: int
    limit_at: Moment
    met_at: Moment | None
    late_minutes: float | None
    state: ClockState
    cause: str | None
    cause_text: str | None


class AdviceAnswer(Given):
    """Something worth saying beside the clocks; `source` is null for a plain fact."""

    code: str
    detail: str
    source: str | None


def clock_answer(clock: Clock, state: ClockState, policy: Policy, request: Request) -> ClockAnswer:
    """One clock in its state."""
    return ClockAnswer(
        clock=clock.name,
        n=clock.n,
        opens_at=clock.opens_at,
        due_at=clock.due_at,
        limit_at=clock.limit_at,
        met_at=clock.met_at,
        state=state,
        source=source_text(policy, clock.rule, request),
    )


def breach_answer(breach: Breach) -> BreachAnswer:
    """One breach."""
    return BreachAnswer(
        clock=breach.clock,
        n=breach.n,
        limit_at=breach.limit_at,
        met_at=breach.met_at,
        late_minutes=breach.late_minutes,
        state=breach.state,
        cause=breach.cause,
        cause_text=breach.cause_text,
    )


def advice_answer(advice: Advice, policy: Policy, request: Request) -> AdviceAnswer:
    """One advice."""
    rule = advice.rule
    source = advice.source or None if rule is None else source_text(policy, rule, request)
    return AdviceAnswer(code=advice.code, detail=advice.detail, source=source)


def source_text(policy: Policy, rule: str, request: Request) -> str:
    """Where a limit comes from: the policy's source, or the order itself."""
    return "the order" if rule == "order" else source_of(policy, rule, request.component)
