"""What a row owes next: the act in words, and the instant it is counted to."""

from datetime import datetime
from math import ceil, floor
from operator import itemgetter
from typing import Final

from server.domain.clock import OWED, Clock
from server.domain.picture import Picture
from server.domain.wording import ACTION, wall_time, whole_minutes
from server.domain.words import ClockName, ClockState, Level, Phase
from server.pages.counted import Moment, count_text
from server.pages.line_marks import CHECKS
from server.pages.page_head import iso

_STARTS: Final = frozenset({ClockName.START, ClockName.RETURN})
PATHWAY: Final = "Follow the reaction pathway"


def row_clock(picture: Picture) -> Clock | None:
    """The clock the row is about: of several overdue ones, the one whose limit passed first."""
    overdue = picture.standing.in_state(ClockState.OVERDUE)
    if picture.urgency.level is Level.OVERDUE and overdue:
        return min(overdue, key=lambda clock: clock.limit_at or picture.standing.now)
    return picture.next_clock


def act_of(picture: Picture) -> str:
    """Answer what is to be done next, empty when nothing is."""
    level, clock = picture.urgency.level, row_clock(picture)
    if level is Level.REACTION:
        return PATHWAY
    if level is Level.PAST_LIMIT:
        return ACTION[ClockName.FINISH]
    if level is Level.AT_RISK:
        return _keep_the_limit(picture)
    if level is Level.WAITING:
        return _call(picture)
    if clock is None or level is Level.CLOSED:
        return ""
    return _start(picture) if clock.name in _STARTS else ACTION[clock.name]


def moment_of(picture: Picture) -> Moment | None:
    """Answer the instant the row is counted to, None when there is none."""
    level, limit = picture.urgency.level, picture.standing.finish_limit_at
    request = picture.case.request
    if level is Level.REACTION:
        return _of_reaction(picture)
    if level in (Level.PAST_LIMIT, Level.AT_RISK):
        return _moment(picture, limit, limit, "limit")
    if level is Level.WAITING:
        wanted = request.wanted_by or request.not_before
        return _moment(picture, _call_at(picture) or wanted, None, "until")
    clock = None if level is Level.CLOSED else row_clock(picture)
    return clock and _moment(picture, clock.due_at or clock.limit_at, clock.limit_at, "due")


def _call(picture: Picture) -> str:
    if _call_at(picture) is not None:
        return "Call for it"
    is_ready = picture.episode.phase is Phase.AVAILABLE
    return "May be called for" if is_ready else "Not ready yet"


def _call_at(picture: Picture) -> datetime | None:
    """When the accepted plan has the unit called for."""
    planned = picture.standing.planned
    return None if planned is None else planned.call_at


def _of_reaction(picture: Picture) -> Moment | None:
    """The next observations, or how long the suspicion has stood."""
    owed = [
        (at, clock)
        for clock, state in picture.clocks
        if state in OWED and clock.name in CHECKS and (at := clock.due_at or clock.limit_at)
    ]
    if owed:
        at, clock = min(owed, key=itemgetter(0))
        return _moment(picture, at, clock.limit_at, "due")
    return _moment(picture, picture.urgency.since_at, None, "ago")


def _moment(
    picture: Picture, at: datetime | None, limit: datetime | None, kind: str
) -> Moment | None:
    if at is None:
        return None
    now, zone = picture.standing.now, picture.standing.zone
    return Moment(
        at_iso=iso(at),
        limit_iso="" if limit is None else iso(limit),
        text=wall_time(at, zone, now),
        kind=kind,
        count=count_text(kind, at, limit, now),
        late=limit is not None and limit < now and whole_minutes(at, now) > 0,
    )


def _start(picture: Picture) -> str:
    """Whether the unit may still go back is what the return window says."""
    overdue = picture.standing.in_state(ClockState.OVERDUE)
    may_go_back = all(clock.name is not ClockName.RETURN for clock in overdue)
    return ACTION[ClockName.START] if may_go_back else "Start, or discard"


def _keep_the_limit(picture: Picture) -> str:
    """The range of rates that still ends in time, or that there is none."""
    infusion = picture.infusion
    if picture.episode.started_at is None:
        return _start(picture)
    if infusion.needed_rate_ml_h is None or infusion.cannot_finish:
        return "Part of the unit stays in the bag"
    needed, permitted = ceil(infusion.needed_rate_ml_h), floor(infusion.permitted_rate_ml_h)
    return f"Needs {needed} to {permitted} mL/h" if needed < permitted else f"Needs {needed} mL/h"
