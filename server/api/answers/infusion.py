"""The flow of a unit, as answered."""

from server.api.answers.numbers import rounded
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.infusion import Infusion


class InfusionAnswer(Given):
    """The flow at the instant asked for; null: not known, or none."""

    given_ml: float
    left_ml: float | None
    rate_ml_h: float | None
    permitted_rate_ml_h: float
    projected_end_at: Moment | None
    needed_rate_ml_h: float | None
    spare_minutes: float | None
    latest_start_at: Moment | None
    drops_per_min: int | None
    read_difference_ml: float | None


def infusion_answer(flow: Infusion) -> InfusionAnswer:
    """The flow with its numbers rounded."""
    return InfusionAnswer(
        given_ml=rounded(flow.given_ml),
        left_ml=rounded(flow.left_ml),
        rate_ml_h=rounded(flow.rate_ml_h),
        permitted_rate_ml_h=rounded(flow.permitted_rate_ml_h),
        projected_end_at=flow.projected_end_at,
        needed_rate_ml_h=rounded(flow.needed_rate_ml_h),
        spare_minutes=rounded(flow.spare_minutes),
        latest_start_at=flow.latest_start_at,
        drops_per_min=flow.drops_per_min,
        read_difference_ml=rounded(flow.read_difference_ml),
    )
