"""Who a unit is for, and what was asked for."""

from dataclasses import dataclass
from datetime import date, datetime

from server.domain.words import BloodGroup, Component, Priority


def full_years(born: date, on: date) -> int:
    """Full years of age on a day."""
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


@dataclass(frozen=True, slots=True)
class Patient:
    """A patient, as far as giving blood needs to know them."""

    id: str
    record_number: str
    family_name: str
    given_name: str
    birth_date: date | None
    blood_group: BloodGroup | None = None
    weight_kg: float | None = None
    pregnant: bool | None = None
    overload_risks: tuple[str, ...] = ()
    spo2_scale: int | None = None

    def age_years(self, on: date) -> int | None:
        """Full years of age on a day, None where the birth date was not recorded."""
        return None if self.birth_date is None else full_years(self.birth_date, on)

    @property
    def full_name(self) -> str:
        """The name as lists show it."""
        return f"{self.family_name}, {self.given_name}"

    @property
    def initials(self) -> str:
        """Initials for places that must not show a name."""
        names = (self.given_name, self.family_name)
        return "".join(f"{name.strip()[0].upper()}." for name in names if name.strip())


@dataclass(frozen=True, slots=True)
class Request:
    """One component unit asked for one patient: what an episode begins with.

    `requested_at` is the bedside time of the request where somebody gave it. `n` of `units` is
    its place in the order. `history` marks a record that was read in from elsewhere: it may lack
    an issue, and nothing of it is refused for a missing check.
    """

    id: str
    patient_id: str
    ward_id: str
    bed: str
    component: Component
    recorded_at: datetime
    recorded_by: str
    volume_ml: float | None = None
    order_id: str | None = None
    n: int = 1
    units: int = 1
    priority: Priority = Priority.ROUTINE
    not_before: datetime | None = None
    wanted_by: datetime | None = None
    max_rate_ml_h: float | None = None
    duration_minutes: int | None = None
    requirements: tuple[str, ...] = ()
    sample_taken_at: datetime | None = None
    nurse_id: str | None = None
    requested_at: datetime | None = None
    history: bool = False


@dataclass(frozen=True, slots=True)
class DamagedRequest(Request):
    """What is left of a request that cannot be read whole: it names the unit, and no more.

    `damaged` are the fields in which something stands that cannot be what was asked for. They have
    what is known of them from elsewhere, or their default: nothing may be worked out from them.
    """

    damaged: tuple[str, ...] = ()
