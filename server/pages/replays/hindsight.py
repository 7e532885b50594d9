"""What was learnt later of a ward at an instant: how its units stood differently, and by what."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest
from typing import Final

from server.domain.clock import OWED, Clock
from server.domain.events import Event
from server.domain.payloads import Confirmed, Voided
from server.domain.picture import Picture
from server.domain.wording import COMPONENT, LEVEL, PHASE, span, whole_minutes
from server.domain.words import ClockState
from server.pages.episodes.clock_rows import STATE, clock_name
from server.pages.episodes.sentences import Speech, sentence
from server.pages.event_forms import form_of
from server.pages.row_view import dom_key
from server.services.replay_ward import Replay

ABSENT: Final = "not on the board"
NOTHING: Final = "none"
MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that stood otherwise: as known then, and as known now."""

    what: str
    then: str
    now: str


@dataclass(frozen=True, slots=True)
class LateFact:
    """A fact that had happened by then and was recorded after: which, when, how late, by whom."""

    what: str
    detail: str
    done: str
    recorded: str
    after: str
    who: str


@dataclass(frozen=True, slots=True)
class UnitHindsight:
    """One unit of which something was learnt later; `key` is its row's."""

    key: str
    bed: str
    name: str
    component: str
    differences: tuple[Difference, ...]
    late: tuple[LateFact, ...]
    because: tuple[str, ...]


def hindsight(replay: Replay, speech: Speech) -> tuple[UnitHindsight, ...]:
    """Answer the units of either board of which something was learnt, in the order of the beds."""
    then, now = replay.then.pictures, replay.now.pictures
    units = [_unit(replay, unit, then.get(unit), now.get(unit), speech) for unit in replay.requests]
    learnt = (one for one in units if one.differences or one.late)
    return tuple(sorted(learnt, key=lambda one: (not one.differences, one.bed, one.key)))


def _unit(
    replay: Replay, unit: str, then: Picture | None, now: Picture | None, speech: Speech
) -> UnitHindsight:
    request, known = replay.requests[unit], now or then
    return UnitHindsight(
        key=dom_key(unit),
        bed=request.bed,
        name="" if known is None else known.case.patient.full_name,
        component=COMPONENT[request.component],
        differences=tuple(_differences(then, now, speech)),
        late=tuple(_late(one, replay, unit, speech) for one in replay.later.get(unit, ())),
        because=tuple(_because(replay, unit, then, now, speech)),
    )


# ---- what stood otherwise ----


def _differences(then: Picture | None, now: Picture | None, speech: Speech) -> Iterator[Difference]:
    if then is now:
        return
    told = zip_longest(_told(then, speech), _told(now, speech), fillvalue=("", NOTHING))
    for (what, before), (named, after) in told:
        if before != after:
            yield Difference(what or named, before, after)
    if then is not None and now is not None:
        yield from _of_clocks(then, now, speech)


def _told(picture: Picture | None, speech: Speech) -> Iterator[tuple[str, str]]:
    """What a row says in figures and words; of a unit that was not there, only that."""
    if picture is None:
        yield "Level", ABSENT
        return
    episode, flow, nurse = picture.episode, picture.infusion, picture.episode.nurse_id
    yield "Level", LEVEL[picture.urgency.level]
    yield "Phase", PHASE[episode.phase]
    yield "Nurse", "unassigned" if nurse is None else speech.name(nurse)
    yield "Given", _ml(flow.given_ml if episode.started_at else None)
    yield "Volume", _ml(episode.volume_ml)
    yield "Rate", NOTHING if flow.rate_ml_h is None else f"{flow.rate_ml_h:g} mL/h"
    yield "Ends", _time(flow.projected_end_at, speech)
    yield "Finish limit", _time(picture.standing.finish_limit_at, speech)


def _ml(volume: float | None) -> str:
    return NOTHING if volume is None else f"{int(volume + 1e-9)} mL"


def _time(at: datetime | None, speech: Speech) -> str:
    return NOTHING if at is None else speech.time(at)


def _of_clocks(then: Picture, now: Picture, speech: Speech) -> Iterator[Difference]:
    """The clocks that stood otherwise; one that was not open yet in either way is no difference."""
    before, after = (
        {(clock.name, clock.n): (clock, state) for clock, state in one.clocks}
        for one in (then, now)
    )
    for key in dict.fromkeys((*before, *after)):
        texts = [_clock(side.get(key), speech) for side in (before, after)]
        if texts[0] != texts[1]:
            clock, _ = after.get(key) or before[key]
            yield Difference(clock_name(clock), *texts)


def _clock(one: tuple[Clock, ClockState] | None, speech: Speech) -> str:
    if one is None or one[1] is ClockState.PENDING:
        return STATE[ClockState.PENDING]
    clock, state = one
    if state in OWED:
        return f"{STATE[state]}, limit {_time(clock.limit_at or clock.due_at, speech)}"
    met = clock.met_at
    return STATE[state] if met is None else f"{STATE[state]} {speech.time(met)}"


# ---- by what ----


def _late(event: Event, replay: Replay, unit: str, speech: Speech) -> LateFact:
    """A void is told by what it takes back; what was charted within the minute, to the second."""
    voided = _voided(event, replay, unit)
    done, recorded = (voided or event).happened_at, event.recorded_at
    exact = recorded - done < MINUTE
    return LateFact(
        what=f"Taken back: {_name(voided)}" if voided else _name(event),
        detail=_detail(event, speech),
        done=_instant(done, speech, exact=exact),
        recorded=_instant(recorded, speech, exact=exact),
        after=_after(done, recorded),
        who=speech.name(event.recorded_by),
    )


def _voided(event: Event, replay: Replay, unit: str) -> Event | None:
    """What a void takes back, None for any other fact."""
    if not isinstance(event.payload, Voided):
        return None
    wanted = event.payload.event_id
    return next(one for one in replay.facts[unit] if one.id == wanted)


def _name(event: Event) -> str:
    step = event.payload.step if isinstance(event.payload, Confirmed) else None
    return form_of(event.kind, step).word


def _detail(event: Event, speech: Speech) -> str:
    return event.payload.reason if isinstance(event.payload, Voided) else sentence(event, speech)


def _instant(at: datetime, speech: Speech, *, exact: bool) -> str:
    return f"{at.astimezone(speech.zone):%H:%M:%S}" if exact else speech.time(at)


def _after(done: datetime, recorded: datetime) -> str:
    seconds = int((recorded - done).total_seconds())
    return f"{seconds} s" if seconds < MINUTE.seconds else span(whole_minutes(done, recorded))


def _because(
    replay: Replay, unit: str, then: Picture | None, now: Picture | None, speech: Speech
) -> Iterator[str]:
    """What else was learnt than facts of the unit itself."""
    asked = replay.requests[unit].recorded_at
    if asked > replay.known_at:
        yield f"The request itself was recorded {speech.time(asked)}."
    if then is None or now is None or then is now:
        return
    before, after = then.case, now.case
    if before.patient != after.patient:
        yield "What is recorded of the patient was changed later."
    if (before.line, before.elsewhere) != (after.line, after.elsewhere):
        yield "Something of another unit of the patient was charted later."
    if before.policy.version != after.policy.version:
        yield "By what was learnt another version of the local policy judges the unit."
    if before.planned != after.planned:
        yield "The plan in force was another."
