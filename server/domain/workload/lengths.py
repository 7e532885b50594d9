"""How long each kind of work takes, as the policy says."""

from datetime import timedelta

from server.domain.policy import Policy
from server.domain.workload.capacity import Collector
from server.domain.workload.task import Work


def policy_lengths(
    policy: Policy, collected_by: Collector = Collector.PORTER
) -> dict[Work, timedelta]:
    """Answer the length of every kind of work. The collection takes a porter or a nurse that long.

    The watched beginning lasts as long as the slow start.
    """
    by_porter = collected_by is Collector.PORTER
    return {
        Work.COLLECT: policy.work_porter if by_porter else policy.work_fetch,
        Work.CHECK_AND_START: policy.work_check_and_start,
        Work.SECOND_CHECK: policy.work_second_check,
        Work.WATCH: policy.rate_first,
        Work.FIRST_CHECK: policy.work_vitals,
        Work.RUNNING_CHECK: policy.work_vitals,
        Work.REACTION_CHECK: policy.work_vitals,
        Work.FINISH: policy.work_finish,
        Work.END_CHECK: policy.work_end_set,
    }
