"""A change in how a ward works, noted so that whoever reads its charts later knows of it."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class WardChange:
    """From `day` on, by the ward's calendar, something was done differently ("new porter round").

    One that was entered by mistake is withdrawn: it stays readable, and is drawn no more.
    """

    id: str
    ward_id: str
    day: date
    text: str
    recorded_by: str
    recorded_at: datetime
    withdrawn_by: str | None = None
    withdrawn_at: datetime | None = None

    @property
    def stands(self) -> bool:
        """Whether nobody has withdrawn it."""
        return self.withdrawn_at is None
