"""A day of a ward as it was entered: who is there, for what, and what the ward allows at once."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.workload.capacity import WardLimits
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.services.nurses import nurses_of_ward
from server.services.permissions import Act, require
from server.services.ward_day import ward_day
from server.store.sessions import ReadSession
from server.store.shifts import Shift, shifts_between
from server.store.staff import Staff, staff_names
from server.store.training import ShiftWork, Training, read_shift_work, read_training
from server.store.ward_limits import limits_at
from server.store.wards import Ward

BEHIND: Final = timedelta(days=7)
"""How far back it is looked for the shifts that people usually have: a week knows weekends too."""


@dataclass(frozen=True, slots=True)
class Day:
    """One day of a ward.

    `nurses` are all who work there, by name; `shifts` theirs that begin on the day, by start.
    `others` are the other shifts that touch it: from the day before, or of other people. `before`
    are the shifts of the week before, by start. `works` are by shift id, `trained` by staff id,
    each only where something was entered. `limits` are those in force now, whatever the day.
    """

    ward: Ward
    zone: ZoneInfo
    day: date
    nurses: tuple[Staff, ...]
    shifts: tuple[Shift, ...]
    others: tuple[Shift, ...]
    before: tuple[Shift, ...]
    works: Mapping[str, ShiftWork]
    trained: Mapping[str, Training]
    limits: WardLimits
    names: Mapping[str, str]


def read_day(session: ReadSession, actor: Actor, ward_id: str, day: date, *, now: datetime) -> Day:
    """Answer a day of a ward. Raises `NotFound`, `Forbidden`."""
    require(actor, Act.READ, ward_id)
    ward = read_ward(session, actor, ward_id)
    zone = ZoneInfo(ward.timezone)
    whole, nurses = ward_day(day, zone), nurses_of_ward(session, ward_id)
    names = {one.id: one.name for one in nurses}
    listed = shifts_between(session, ward_id, whole.from_at - BEHIND, whole.until_at)
    theirs = [one for one in listed if whole.contains(one.starts_at) and one.staff_id in names]
    touching = [one for one in listed if one.ends_at > whole.from_at and one not in theirs]
    people = {one.staff_id for one in touching} | names.keys()
    return Day(
        ward=ward,
        zone=zone,
        day=day,
        nurses=nurses,
        shifts=tuple(theirs),
        others=tuple(touching),
        before=tuple(one for one in listed if one.starts_at < whole.from_at),
        works=read_shift_work(session, [one.id for one in theirs]),
        trained=read_training(session, people),
        limits=limits_at(session, ward_id, now),
        names=staff_names(session, people),
    )
