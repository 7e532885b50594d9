"""Until when the sample of an order counts."""

from datetime import UTC, datetime, time, timedelta, tzinfo

from server.domain.policy import Policy
from server.domain.request import Request


def sample_valid_until(request: Request, policy: Policy, zone: tzinfo) -> datetime | None:
    """Answer the last instant at which the sample counts, None where none was recorded.

    Hours run as real time from when it was taken; a policy may let it count to the end of the ward
    day on which they run out.
    """
    if request.sample_taken_at is None:
        return None
    until = request.sample_taken_at + policy.sample_valid
    if not policy.sample_to_end_of_day:
        return until
    next_day = until.astimezone(zone).date() + timedelta(days=1)
    return datetime.combine(next_day, time(), zone).astimezone(UTC)
