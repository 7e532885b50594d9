"""Published audits: figures that a ward's own may stand beside, each with where it comes from."""

from dataclasses import dataclass
from enum import StrEnum


class Measure(StrEnum):
    """What of a ward's own a published figure stands beside.

    The first three are rates of clocks; then parts of units that began or ended late, of units
    begun at night, and of single units after which somebody looked again before the next.
    """

    BASELINE_KEPT = "baseline_kept"
    FIRST_CHECK_KEPT = "first_check_kept"
    END_CHECK_KEPT = "end_check_kept"
    END_CHECK_KEPT_AT_NIGHT = "end_check_kept_at_night"
    START_LATE = "start_late"
    FINISH_LATE_AT_NIGHT = "finish_late_at_night"
    STARTED_AT_NIGHT = "started_at_night"
    REASSESSED = "reassessed"


@dataclass(frozen=True, slots=True)
class Audit:
    """One published figure.

    `low` and `high` are fractions of 0 to 1, the same where one figure was given; `count` of `of`
    are the numbers behind it, None where they are not known. `year` is that of the data, or of the
    publication where only that is known. `counted` says what was counted, `differs` how a ward's
    own figure is counted differently, `read` how far the source was read.
    """

    key: str
    measure: Measure
    low: float
    high: float
    count: int | None
    of: int | None
    of_what: str
    year: int
    place: str
    counted: str
    differs: str
    source: str
    read: str
    verified: bool
