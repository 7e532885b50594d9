"""How many reminders a ward raised in a period, and what came of them; never by person."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from server.domain.alarm_load import AlarmLoad, alarm_load
from server.domain.clock import SECOND
from server.services.actor import Actor
from server.services.enter_ward import read_ward, read_ward_policy
from server.services.nurses import NURSES
from server.services.passed_limits import Period, require_a_year_at_most
from server.services.permissions import Act, require
from server.store.alarm_load import duties_within, reminders_of_period, units_issued
from server.store.sessions import ReadSession


@dataclass(frozen=True, slots=True)
class WardLoad:
    """The load of a ward in a period, and within how long an answer counted as useful."""

    ward_id: str
    period: Period
    useful_within: timedelta
    load: AlarmLoad


def read_alarm_load(
    session: ReadSession, actor: Actor, ward_id: str, period: Period, *, now: datetime
) -> WardLoad:
    """Answer the load of a period of at most a year, by the policy that is in force at `now`.

    Raises `NotFound`, `Forbidden`, `Invalid`.
    """
    ward = read_ward(session, actor, ward_id)
    require(actor, Act.WEIGH_ALARMS, ward_id)
    require_a_year_at_most(period)
    # A shift that is not over, or a stage that has not come, is counted when it is.
    begins, until = period.from_at, min(period.until, now + SECOND)
    within = read_ward_policy(session, ward_id, now=now).reminders_useful
    load = alarm_load(
        reminders_of_period(session, ward_id, begins, until),
        begins,
        until,
        useful_within=within,
        zone=ZoneInfo(ward.timezone),
        units=units_issued(session, ward_id, begins, until),
        duties=duties_within(session, ward_id, begins, until, NURSES),
    )
    return WardLoad(ward_id, period, within, load)
