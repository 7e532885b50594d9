"""Bodies that set a ward up: wards, staff, shifts."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.fields import Id, Line, Ref, Role, Strict
from server.api.instants import Instant
from server.domain import limits
from server.services.enter_shift import ShiftDraft
from server.services.enter_staff import StaffDraft
from server.services.enter_ward import WardDraft
from server.services.passwords import SHORTEST_PASSWORD
from server.store.shifts import Break


class WardBody(Strict):
    """A ward; an id that exists changes that ward. `timezone` is an IANA name."""

    id: Id | None = None
    name: Line
    policy: Ref
    timezone: Line
    temperature_unit: Literal["C", "F"] = "C"
    next_contact: Line | None = None

    def draft(self) -> WardDraft:
        """What it asks to enter."""
        return WardDraft(**self.model_dump())


class StaffBody(Strict):
    """A member of staff; an id that exists changes that person.

    With `sign_in_name` and `password` the person can sign in on the screens.
    """

    id: Id | None = None
    name: Line
    role: Role
    wards: Annotated[list[Ref], Field(max_length=limits.LIST_ITEMS)]
    sign_in_name: Line | None = None
    password: Annotated[Line, Field(min_length=SHORTEST_PASSWORD)] | None = None
    active: bool = True

    def draft(self) -> StaffDraft:
        """What it asks to enter."""
        facts = self.model_dump()
        return StaffDraft(**facts | {"wards": frozenset(self.wards)})


class BreakBody(Strict):
    """A break inside a shift."""

    starts_at: Instant
    ends_at: Instant


class ShiftBody(Strict):
    """A member of staff is on duty on a ward."""

    staff_id: Ref
    ward_id: Ref
    starts_at: Instant
    ends_at: Instant
    breaks: Annotated[list[BreakBody], Field(max_length=limits.LIST_ITEMS, default_factory=list)]

    def draft(self) -> ShiftDraft:
        """What it asks to enter."""
        pauses = tuple(Break(one.starts_at, one.ends_at) for one in self.breaks)
        return ShiftDraft(self.staff_id, self.ward_id, self.starts_at, self.ends_at, pauses)
