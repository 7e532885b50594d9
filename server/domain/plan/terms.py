"""From a policy to the terms of a plan."""

from collections.abc import Mapping
from datetime import timedelta

from server.domain.plan.problem import Terms
from server.domain.policy import Policy
from server.domain.workload.task import Work


def terms_of(
    policy: Policy, lengths: Mapping[Work, timedelta], carried: timedelta | None = None
) -> Terms:
    """Answer the terms under which a ward plans.

    `lengths` are those of the policy, or with what the ward recorded itself; `carried` is how long
    a unit is out of storage on its way, None: as the policy says. It is never longer than the way.
    """
    collect = lengths[Work.COLLECT]
    return Terms(
        grid=policy.plan_grid,
        collect=collect,
        carried=min(collect, policy.work_carried if carried is None else carried),
        check=lengths[Work.CHECK_AND_START],
        watch=lengths[Work.WATCH],
        start_within=policy.start_target,
        checkers=policy.identity_checkers,
        lengths=lengths,
        longest_wait=policy.plan_longest_wait,
        finish_grace=policy.work_finish_grace,
    )
