"""What is wrong with a plan, or good to know of it: one finding."""

from dataclasses import dataclass

from server.domain.plan.proposal import Rule
from server.domain.workload.period import Period


@dataclass(frozen=True, slots=True)
class Finding:
    """The rule that is touched, by which units and people, when, and the words for it.

    `is_hard`: no planner would make such a plan. Otherwise it may be accepted by who knows of it.
    """

    rule: Rule
    episode_ids: tuple[str, ...]
    staff_ids: tuple[str, ...]
    period: Period
    words: str
    is_hard: bool = True
