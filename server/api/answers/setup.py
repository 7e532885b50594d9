"""Wards, policies, staff and shifts, as answered."""

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.policy import Policy, PolicyValue
from server.domain.words import Role
from server.store.shifts import Shift
from server.store.staff import Staff
from server.store.wards import Ward


class WardAnswer(Given):
    """A ward. `revision` counts what changed on its board; `checked_at` is the last tick's."""

    id: str
    name: str
    policy: str
    timezone: str
    temperature_unit: str
    next_contact: str | None
    revision: int
    checked_at: Moment | None


class PolicyName(Given):
    """A policy that a ward can run under."""

    name: str
    title: str
    description: str
    version: str


class PolicyValueAnswer(Given):
    """One value; `verified` is true when its source was read in the original."""

    key: str
    value: bool | int | float | str | list[str]
    unit: str
    source: str
    verified: bool
    note: str


class PolicyAnswer(PolicyName):
    """A policy with every value."""

    values: list[PolicyValueAnswer]


class StaffAnswer(Given):
    """A member of staff; `wards` null: all wards."""

    id: str
    name: str
    role: Role
    wards: list[str] | None
    sign_in_name: str | None
    active: bool


class BreakAnswer(Given):
    """A break inside a shift."""

    starts_at: Moment
    ends_at: Moment


class ShiftAnswer(Given):
    """A member of staff is on duty on a ward."""

    id: str
    staff_id: str
    ward_id: str
    starts_at: Moment
    ends_at: Moment
    breaks: list[BreakAnswer]


def ward_answer(ward: Ward, policy: str) -> WardAnswer:
    """A ward that runs under the policy of this name."""
    return WardAnswer(
        id=ward.id,
        name=ward.name,
        policy=policy,
        timezone=ward.timezone,
        temperature_unit=ward.temperature_unit,
        next_contact=ward.next_contact,
        revision=ward.revision,
        checked_at=ward.checked_at,
    )


def policy_name(policy: Policy) -> PolicyName:
    """A policy without its values."""
    return PolicyName(
        name=policy.name,
        title=policy.title,
        description=policy.description,
        version=policy.version,
    )


def policy_answer(policy: Policy) -> PolicyAnswer:
    """A policy with its values in the order of its file."""
    values = [_value(value) for value in policy.values.values()]
    return PolicyAnswer(**policy_name(policy).model_dump(), values=values)


def _value(value: PolicyValue) -> PolicyValueAnswer:
    plain = value.value
    return PolicyValueAnswer(
        key=value.key,
        value=list(plain) if isinstance(plain, tuple) else plain,
        unit=value.unit,
        source=value.source,
        verified=value.verified,
        note=value.note,
    )


def staff_answer(staff: Staff) -> StaffAnswer:
    """A member of staff."""
    return StaffAnswer(
        id=staff.id,
        name=staff.name,
        role=staff.role,
        wards=None if staff.wards is None else sorted(staff.wards),
        sign_in_name=staff.sign_in_name,
        active=staff.active,
    )


def shift_answer(shift: Shift) -> ShiftAnswer:
    """A shift."""
    pauses = [BreakAnswer(starts_at=one.starts_at, ends_at=one.ends_at) for one in shift.breaks]
    return ShiftAnswer(
        id=shift.id,
        staff_id=shift.staff_id,
        ward_id=shift.ward_id,
        starts_at=shift.starts_at,
        ends_at=shift.ends_at,
        breaks=pauses,
    )
