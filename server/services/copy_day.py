"""Copy a day of a ward: the same people at the same times by the clock on the wall."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from server.domain.workload.capacity import Duty
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.enter_shift import note_shift
from server.services.enter_ward import read_ward
from server.services.errors import Conflict
from server.services.permissions import Act, require
from server.services.ward_day import ward_day
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import Break, Shift, save_shift, shifts_between
from server.store.training import ShiftWork, read_shift_work, save_shift_work


def copy_day(
    session: WriteSession,
    actor: Actor,
    ward_id: str,
    *,
    from_day: date,
    to_day: date,
    now: datetime,
) -> tuple[Shift, ...]:
    """Copy the shifts that begin on a ward's day, with breaks, beds and duties, to another day.

    Whoever has a shift on that day already keeps it as it is. Raises `Forbidden`, `NotFound`,
    `Conflict` where there is nothing to copy.
    """
    require(actor, Act.PLAN_STAFF, ward_id)
    zone = ZoneInfo(read_ward(session, actor, ward_id).timezone)
    there = {shift.staff_id for shift in shifts_of_day(session, ward_id, to_day, zone)}
    source = shifts_of_day(session, ward_id, from_day, zone)
    wanted = [shift for shift in source if shift.staff_id not in there]
    if not wanted:
        raise Conflict("that day has no shift that could be copied")
    works = read_shift_work(session, [shift.id for shift in wanted])
    moved = _mover(to_day - from_day, zone)
    copied = tuple(_copy(shift, moved) for shift in wanted)
    for shift, old in zip(copied, wanted, strict=True):
        save_shift(session, shift)
        note_shift(session, actor, shift, None, now=now)
        save_shift_work(session, shift.id, _copy_work(works.get(old.id, ShiftWork()), moved))
    session.touch(ward_id)
    return copied


def shifts_of_day(
    session: ReadSession, ward_id: str, day: date, zone: ZoneInfo
) -> tuple[Shift, ...]:
    """The shifts on a ward that begin on a day of its wall calendar."""
    whole = ward_day(day, zone)
    listed = shifts_between(session, ward_id, whole.from_at, whole.until_at)
    return tuple(shift for shift in listed if whole.contains(shift.starts_at))


def _mover(days: timedelta, zone: ZoneInfo) -> Callable[[datetime], datetime]:
    """Move an instant by whole days of the wall, whatever the clocks do in between."""

    def moved(instant: datetime) -> datetime:
        wall = instant.astimezone(zone).replace(tzinfo=None) + days
        return wall.replace(tzinfo=zone).astimezone(UTC)

    return moved


def _copy(shift: Shift, moved: Callable[[datetime], datetime]) -> Shift:
    breaks = tuple(Break(moved(one.starts_at), moved(one.ends_at)) for one in shift.breaks)
    return replace(
        shift,
        id=new_id(),
        starts_at=moved(shift.starts_at),
        ends_at=moved(shift.ends_at),
        breaks=breaks,
    )


def _copy_work(work: ShiftWork, moved: Callable[[datetime], datetime]) -> ShiftWork:
    duties = tuple(
        Duty(Period(moved(duty.period.from_at), moved(duty.period.until_at)), duty.name)
        for duty in work.duties
    )
    return replace(work, duties=duties)
