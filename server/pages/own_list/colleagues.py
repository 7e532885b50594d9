"""The nurses of a ward to choose from: who is at work first, and who is on a break."""

from datetime import datetime

from server.domain.clock import SECOND
from server.domain.wording import dated_time
from server.pages.forms.fields import Options
from server.pages.ward_setting import WardSetting
from server.services.nurses import nurses_of_ward
from server.store.sessions import ReadSession
from server.store.shifts import Shift, shifts_between


def colleague_options(
    session: ReadSession, setting: WardSetting, now: datetime, *, without: str | None = None
) -> Options:
    """Answer the nurses of the ward but one, with how the plan has them at the instant."""
    ward_id = setting.ward_id or ""
    nurses = [one for one in nurses_of_ward(session, ward_id) if one.id != without]
    shifts = {one.staff_id: one for one in shifts_between(session, ward_id, now, now + SECOND)}
    here = sorted(nurses, key=lambda one: _place(shifts.get(one.id), now))
    return tuple((one.id, _words(one.name, shifts.get(one.id), setting, now)) for one in here)


def _place(shift: Shift | None, now: datetime) -> int:
    if shift is None:
        return 2
    return 0 if _break_end(shift, now) is None else 1


def _words(name: str, shift: Shift | None, setting: WardSetting, now: datetime) -> str:
    if shift is None:
        return f"{name}, not on the plan now"
    until = _break_end(shift, now)
    return (
        name
        if until is None
        else f"{name}, on a break until {dated_time(until, setting.zone, now)}"
    )


def _break_end(shift: Shift, now: datetime) -> datetime | None:
    return next((one.ends_at for one in shift.breaks if one.starts_at <= now < one.ends_at), None)
