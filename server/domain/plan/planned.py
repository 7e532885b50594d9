"""What the accepted plan says of one unit that is not started, as far as the ward shows it."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Planned:
    """When the unit is called for and started, and by whom.

    `call_at` None: it was issued already when the plan was made. `spare_minutes` is what the plan
    leaves of the finish limit, None where that is not known.
    """

    call_at: datetime | None
    start_at: datetime
    nurse_id: str
    second_id: str | None
    spare_minutes: int | None = None
