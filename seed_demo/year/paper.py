"""What is said about a unit's clocks: "I have it" while one is overdue, and its cause afterwards.

Which limits were passed is asked of the rules of the board, not known beforehand.
"""

from datetime import datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.year.lots import minutes
from seed_demo.year.telling import Telling
from server.domain.clock import BREACHED, Clock
from server.domain.payloads import Acknowledged, CauseGiven
from server.domain.picture import Case, picture
from server.domain.window import concerning
from server.domain.words import ClockName

MINUTE: Final = timedelta(minutes=1)
DAY: Final = timedelta(days=1)
WATCH: Final = timedelta(hours=30)
ANSWERS: Final = 0.55
AT_ONCE: Final = 0.6
"""Of the causes, how many the nurse gives on the same shift; the others the manager, on Mondays."""

SILENT: Final = frozenset({ClockName.LATE_WATCH, ClockName.SET_CHANGE})
OTHER: Final = "other"
SAID: Final = {ClockName.FINISH: "ran too slowly from the start"}
USUALLY: Final = "overlooked"


def write_up(telling: Telling, manager: str, zone: ZoneInfo) -> None:
    """Tell what was acknowledged and explained of the limits that the unit passed."""
    for clock in _passed(telling, telling.last_at + WATCH, zone):
        limit = clock.limit_at
        if limit is None or clock.name in SILENT:
            continue
        _acknowledge(telling, clock.name, limit, clock.met_at or clock.over_at)
        if telling.rng.random() < telling.work.habits.explains:
            _explain(telling, clock, limit, manager)


def _passed(telling: Telling, at: datetime, zone: ZoneInfo) -> list[Clock]:
    request, policy = telling.request, telling.work.policy
    events = concerning(request, policy, [*telling.events, *telling.lying.sets])
    looked = picture(Case(request, telling.lying.patient, policy, events, zone), at)
    return [clock for clock, state in looked.clocks if state in BREACHED]


def _acknowledge(
    telling: Telling, name: ClockName, limit: datetime, until: datetime | None
) -> None:
    at = limit + minutes(telling.rng, 1.5, 7)
    if telling.rng.random() < ANSWERS and (until is None or at < until):
        who = telling.turn.charge if name is ClockName.FATE else telling.nurse
        telling.did(at, Acknowledged(name, who), who)


def _explain(telling: Telling, clock: Clock, limit: datetime, manager: str) -> None:
    rng, settled = telling.rng, clock.met_at or clock.over_at or limit
    cause = telling.causes.get(clock.name, OTHER)
    text = SAID.get(clock.name, USUALLY) if cause == OTHER else None
    given = CauseGiven(clock.name, cause, text, n=clock.n)
    if rng.random() < AT_ONCE:
        telling.did(settled + minutes(rng, 6, 45), given)
    else:
        telling.did(_office_hour(settled) + minutes(rng, 0, 150), given, manager)


def _office_hour(at: datetime) -> datetime:
    """The manager's hour on the Monday after."""
    monday = at.date() + (7 - at.weekday()) * DAY
    return datetime.combine(monday, time(9), at.tzinfo)
