"""How a unit that is not started is expected to run: the projection of a running one, from a start.

Until the slow start is over it runs at the slow rate, never faster than the order means; then as
every running unit is projected to go on.
"""

from dataclasses import replace
from datetime import datetime

from server.domain.episode import Episode, Flow
from server.domain.infusion import infusion_at
from server.domain.policy import Policy
from server.domain.rates import ordered_rate_ml_h
from server.domain.standing import Standing
from server.domain.words import Phase


def started_at(standing: Standing, start: datetime) -> Episode:
    """Answer the episode as it would be, had it been started at `start` at the expected rate.

    `standing` is of a unit that is not started. Without a volume no rate is assumed.
    """
    episode, policy = standing.episode, standing.policy
    rate = _first_rate_ml_h(episode, policy, standing.infusion.permitted_rate_ml_h)
    return replace(episode, phase=Phase.RUNNING, started_at=start, flow=[Flow(start, rate)])


def end_of_run(standing: Standing, start: datetime) -> datetime | None:
    """Answer when a unit started at `start` is expected to be in; None: its volume is not known."""
    return infusion_at(
        started_at(standing, start),
        standing.policy,
        permitted_ml_h=standing.infusion.permitted_rate_ml_h,
        finish_limit_at=None,
        now=start,
    ).projected_end_at


def _first_rate_ml_h(episode: Episode, policy: Policy, permitted_ml_h: float) -> float | None:
    if episode.volume_ml is None:
        return None
    ordered = ordered_rate_ml_h(episode, policy, episode.volume_ml, permitted_ml_h)
    return min(policy.rate_first_max_ml_h, ordered) if policy.rate_first else ordered
