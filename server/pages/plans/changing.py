"""A plan changed by hand: the form of one unit, and what was typed into it as a change."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.errors import Invalid
from server.domain.plan.plan import Plan
from server.domain.workload.period import Period
from server.pages.forms.entry import Entry, instant_values
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import FieldView, Surroundings, field_views
from server.services.change_plan import HandChange
from server.services.planning_ground import Ground

UNIT: Final = "episode_id"
PLACE: Final = (
    Field("check_at", "Two-person check begins", Shape.INSTANT, bare=True),
    Field("nurse_id", "Starts it", Shape.CHOICE, given="nurses", bare=True, empty="choose"),
    Field("second_id", "Checks with them", Shape.CHOICE, given="nurses", bare=True, empty="nobody"),
)
NOT_THEN: Final = (
    Field("forbidden_from", "Not from", Shape.INSTANT, bare=True),
    Field("forbidden_until", "Until", Shape.INSTANT, bare=True),
)

_TOMORROW: Final = timedelta(days=1)
_YESTERDAY: Final = -_TOMORROW

Read = Callable[[Entry, Plan, ZoneInfo], HandChange]


def place_fields(
    ground: Ground, plan: Plan, episode_id: str, typed: Entry
) -> tuple[FieldView, ...]:
    """Answer where a unit is and who does it, as typed or else as the plan has it."""
    entry = typed if "check_at_time" in typed else _as_planned(ground, plan, episode_id)
    return field_views(PLACE, entry, Surroundings(ground.zone, {"nurses": nurses(ground)}))


def forbidden_fields(ground: Ground, typed: Entry) -> tuple[FieldView, ...]:
    """Answer the two ends of a time at which a unit is not wanted."""
    return field_views(NOT_THEN, typed, Surroundings(ground.zone))


def nurses(ground: Ground) -> Options:
    """Answer everybody who is on duty while the plan lasts, by name."""
    there = {one.staff_id for one in ground.problem.capacity.on_duty}
    named = ((one, ground.names.get(one, one)) for one in there)
    return tuple(sorted(named, key=lambda pair: (pair[1], pair[0])))


def change_of(typed: Entry, plan: Plan, zone: ZoneInfo) -> HandChange:
    """Answer what a form asks for: its button says what. Raises `Wrong`, `Invalid`."""
    act = typed.choice("do", ACTS, required=True)
    typed.check()
    change = ACTS[act or ""](typed, plan, zone)
    typed.check()
    return change


def _as_planned(ground: Ground, plan: Plan, episode_id: str) -> Entry:
    start = plan.start_of(episode_id)
    if start is None:
        return Entry(instant_values("check_at", ground.problem.from_at, ground.zone))
    people = {"nurse_id": [start.nurse_id], "second_id": [start.second_id or ""]}
    return Entry(instant_values("check_at", start.check_at, ground.zone) | people)


def _moved(typed: Entry, plan: Plan, zone: ZoneInfo) -> HandChange:
    """Only what is other than in the plan, so that the list of versions says what was done."""
    start = plan.start_of(typed.raw(UNIT))
    check_at = typed.instant("check_at", zone, required=True)
    nurse_id, second_id = typed.text("nurse_id"), typed.text("second_id")
    if start is not None:
        check_at = None if check_at == start.check_at else check_at
        nurse_id = None if nurse_id == start.nurse_id else nurse_id
        second_id = None if second_id == start.second_id else second_id
    return HandChange(typed.raw(UNIT), check_at, nurse_id, second_id)


def _fixed(typed: Entry, plan: Plan, zone: ZoneInfo) -> HandChange:
    moved = _moved(typed, plan, zone)
    people = (moved.nurse_id, moved.second_id)
    return HandChange(moved.episode_id, moved.check_at, *people, pinned=True)


def _forbidden(typed: Entry, plan: Plan, zone: ZoneInfo) -> HandChange:
    """Without dates the end is the first such time in the plan, the beginning the last before."""
    from_at, is_dated = plan.proposal.from_at, _is_dated(typed, "forbidden_from")
    begin = typed.instant("forbidden_from", zone, required=True) if is_dated else None
    end = _instant(typed, "forbidden_until", zone, begin or from_at, _TOMORROW)
    if not is_dated:
        begin = _instant(typed, "forbidden_from", zone, end or from_at, _YESTERDAY)
    typed.check()
    if begin is None or end is None:
        raise Invalid("forbidden_from", "is missing; expected a time")
    return HandChange(typed.raw(UNIT), forbidden=Period(begin, end))


def _instant(
    typed: Entry, name: str, zone: ZoneInfo, near: datetime, towards: timedelta
) -> datetime | None:
    """An instant that has to be typed; without a date it is the first such after `near`.

    Towards yesterday it is the last such that is not after it.
    """
    local = near.astimezone(zone)
    found = typed.instant(name, zone, required=True, day=f"{local:%Y-%m-%d}")
    if found is None or _is_dated(typed, name) or (found > near) == (towards == _TOMORROW):
        return found
    return typed.instant(name, zone, day=f"{local + towards:%Y-%m-%d}")


def _is_dated(typed: Entry, name: str) -> bool:
    return bool(typed.raw(f"{name}_date").strip())


ACTS: Final[Mapping[str, Read]] = {
    "move": _moved,
    "fix": _fixed,
    "loosen": lambda typed, _plan, _zone: HandChange(typed.raw(UNIT), pinned=False),
    "forbid": _forbidden,
    "allow": lambda typed, _plan, _zone: HandChange(typed.raw(UNIT), allowed=True),
    "leave_out": lambda typed, _plan, _zone: HandChange(typed.raw(UNIT), left_out=True),
}
