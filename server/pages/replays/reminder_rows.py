"""Reminders of the past: what was owed and had been said by then, and each that was raised."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.alarm import MARK, OF_STATE, Alarm
from server.domain.reminders import acknowledgement_of
from server.domain.wording import clock_text
from server.domain.words import ClockState
from server.pages.episodes.clock_rows import STATE, clock_name
from server.pages.episodes.sentences import Speech
from server.pages.own_list.unit_line import unit_text
from server.pages.reminders import STAGE, told_to
from server.services.list_reminders import Key
from server.services.replay_ward import Replay, Said, View
from server.store.reminders import RaisedReminder

LAST: Final = timedelta(hours=2)
"""How far back each raised reminder is told by itself."""

_EARLY: Final = frozenset({ClockState.PENDING, ClockState.OPEN})


@dataclass(frozen=True, slots=True)
class OwedThen:
    """A clock that was owed and had been said; `otherwise` is how the other view has it."""

    bed: str
    name: str
    unit: str
    clock: str
    state: str
    priority: str
    mark: str
    due: str
    said: str
    held: str
    otherwise: str


@dataclass(frozen=True, slots=True)
class RaisedThen:
    """One reminder that was raised: when, about what, to whom; `taken` is who had it by then."""

    time: str
    bed: str
    clock: str
    stage: str
    to: str
    taken: str


def owed_then(replay: Replay, *, known_now: bool, speech: Speech) -> tuple[OwedThen, ...]:
    """Answer what was owed and had been said, as known then or as known now."""
    view, other = replay.then, replay.now
    words = "as known now"
    if known_now:
        view, other, words = other, view, "as known then"
    return tuple(_owed(one, other, words, speech) for one in view.said)


def raised_then(replay: Replay, *, known_now: bool, speech: Speech) -> tuple[RaisedThen, ...]:
    """Answer the reminders that had been raised in the last two hours, the latest first."""
    view = replay.now if known_now else replay.then
    raised = [one for one in view.raised if one.raised_at >= replay.at - LAST]
    return tuple(_raised(one, view, replay, speech) for one in reversed(raised))


def _owed(one: Said, other: View, words: str, speech: Speech) -> OwedThen:
    item, request = one.item, one.item.picture.case.request
    priority = OF_STATE.get(item.state, Alarm.LOW)
    held = item.acknowledged_by
    key = (request.id, item.clock.name, item.clock.n)
    return OwedThen(
        bed=request.bed,
        name=item.picture.case.patient.full_name,
        unit=unit_text(request),
        clock=clock_name(item.clock),
        state="soon" if item.state in _EARLY else STATE[item.state],
        priority=priority,
        mark=MARK[priority],
        due=speech.time(item.falls_due_at),
        said=f"{STAGE[one.reminder.stage]} to {told_to(one.reminder.to, speech.names)}, "
        f"{speech.time(one.reminder.raised_at)}",
        held="" if held is None else f"{speech.name(held)} has it",
        otherwise=_otherwise(item.state, key, other, words, speech),
    )


def _otherwise(state: ClockState, key: Key, other: View, words: str, speech: Speech) -> str:
    """How the same clock stands by what the other view knows, empty where it is the same."""
    picture = other.pictures.get(key[0])
    if picture is None:
        return f"{words} the unit was not on the board"
    found = {(clock.name, clock.n): (clock, is_in) for clock, is_in in picture.clocks}
    clock, is_in = found.get(key[1:], (None, None))
    if clock is None or is_in is None:
        return f"{words} there was no such limit"
    if is_in is state:
        return ""
    met: datetime | None = clock.met_at
    return f"{words} {STATE[is_in]}{'' if met is None else f' {speech.time(met)}'}"


def _raised(one: RaisedReminder, view: View, replay: Replay, speech: Speech) -> RaisedThen:
    repeat = f", repeat {one.repeat}" if one.repeat else ""
    request = replay.requests.get(one.episode_id)
    return RaisedThen(
        time=f"{one.raised_at.astimezone(speech.zone):%H:%M:%S}",
        bed="" if request is None else request.bed,
        clock=clock_text(one.clock, one.n),
        stage=f"{STAGE[one.stage]}{repeat}",
        to=told_to(one.to, speech.names),
        taken=_taken(one, view, speech),
    )


def _taken(one: RaisedReminder, view: View, speech: Speech) -> str:
    """Who had the clock in hand, as the facts of the view say it."""
    picture = view.pictures.get(one.episode_id)
    clocks = () if picture is None else picture.clocks
    for clock, _ in clocks:
        if (clock.name, clock.n) == (one.clock, one.n) and picture is not None:
            given = acknowledgement_of(clock, picture.standing)
            if given is not None:
                return f"{speech.name(given.staff_id)}, {speech.time(given.at)}"
    return ""
