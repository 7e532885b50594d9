"""The clocks of a unit as the page lists them: what is owed, when, until when, and by what rule."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.alarm import MARK, OF_STATE, Alarm
from server.domain.clock import OWED, Clock
from server.domain.picture import Picture
from server.domain.policy import source_of
from server.domain.reminders import acknowledgement_of
from server.domain.wording import clock_text, span, whole_minutes
from server.domain.words import ClockName, ClockState
from server.pages.counted import Moment, count_text
from server.pages.episodes.sentences import Speech
from server.pages.page_head import iso

STATE: Final[dict[ClockState, str]] = {
    ClockState.PENDING: "not open yet",
    ClockState.OPEN: "open",
    ClockState.DUE: "due",
    ClockState.OVERDUE: "overdue",
    ClockState.MET: "met",
    ClockState.MET_LATE: "met late",
    ClockState.MISSED: "missed",
    ClockState.LAPSED: "no longer owed",
}


@dataclass(frozen=True, slots=True)
class ClockRow:
    """One clock. `moment` counts to what comes next of it; `held` says who has it in hand.

    `asks` is set where "I have it" can be said with one touch.
    """

    key: str
    name: str
    words: str
    state: str
    priority: str
    mark: str
    moment: Moment | None
    opens_text: str
    due_text: str
    limit_text: str
    met_text: str
    source: str
    verified: bool
    held: str
    asks: bool


def clock_name(clock: Clock) -> str:
    """Answer the name of a clock, numbered where several follow each other."""
    return clock_text(clock.name, clock.n)


def owed_clocks(picture: Picture, speech: Speech) -> tuple[ClockRow, ...]:
    """Answer the clocks that are owed, the next one first."""
    owed = [(clock, state) for clock, state in picture.clocks if state in OWED]
    owed.sort(key=lambda pair: _instant(pair[0]) or picture.standing.now)
    return _rows(owed, picture, speech)


def settled_clocks(picture: Picture, speech: Speech) -> tuple[ClockRow, ...]:
    """Answer the clocks that are met, missed or no longer owed, in the order of the pathway."""
    return _rows([pair for pair in picture.clocks if pair[1] not in OWED], picture, speech)


def _rows(
    pairs: Iterable[tuple[Clock, ClockState]], picture: Picture, speech: Speech
) -> tuple[ClockRow, ...]:
    return tuple(_row(clock, state, picture, speech) for clock, state in pairs)


def _row(clock: Clock, state: ClockState, picture: Picture, speech: Speech) -> ClockRow:
    held = acknowledgement_of(clock, picture.standing) if state in OWED else None
    priority = OF_STATE.get(state, Alarm.NONE)
    return ClockRow(
        key=f"{clock.name}-{clock.n}",
        name=clock.name.value,
        words=clock_name(clock),
        state=STATE[state],
        priority=priority,
        mark=MARK[priority],
        moment=_moment(clock, picture, speech) if state in OWED else None,
        opens_text=_text(clock.opens_at, speech) if state is ClockState.PENDING else "",
        due_text=_text(clock.due_at, speech),
        limit_text=_text(clock.limit_at, speech),
        met_text=_met(clock, state, speech),
        source=_source(clock, picture),
        verified=_verified(clock, picture),
        held=f"{speech.name(held.staff_id)} has it" if held is not None else "",
        asks=held is None and state in OF_STATE and clock.name is not ClockName.LATE_WATCH,
    )


def _instant(clock: Clock) -> datetime | None:
    return clock.due_at or clock.limit_at


def _moment(clock: Clock, picture: Picture, speech: Speech) -> Moment | None:
    at, now = clock.due_at or clock.limit_at, picture.standing.now
    if at is None:
        return None
    watches = clock.name is ClockName.LATE_WATCH
    limit = None if watches else clock.limit_at
    kind = "until" if watches else "due"
    return Moment(
        at_iso=iso(at),
        limit_iso="" if limit is None else iso(limit),
        text=speech.time(at),
        kind=kind,
        count=count_text(kind, at, limit, now),
        late=limit is not None and limit < now,
    )


def _text(instant: datetime | None, speech: Speech) -> str:
    return "" if instant is None else speech.time(instant)


def _met(clock: Clock, state: ClockState, speech: Speech) -> str:
    if clock.met_at is None or state not in (ClockState.MET, ClockState.MET_LATE):
        return ""
    late = ""
    if state is ClockState.MET_LATE and clock.limit_at is not None:
        late = f", {span(max(1, whole_minutes(clock.limit_at, clock.met_at)))} after its limit"
    return f"{speech.time(clock.met_at)}{late}"


def _source(clock: Clock, picture: Picture) -> str:
    return source_of(picture.case.policy, clock.rule, picture.case.request.component)


def _verified(clock: Clock, picture: Picture) -> bool:
    values = picture.case.policy.values
    component = picture.case.request.component
    value = values.get(clock.rule) or values.get(f"{clock.rule}.{component}")
    return value is not None and value.verified
