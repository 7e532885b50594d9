"""The lines of one unit on paper: each set of vital signs that is owed, with boxes to write in."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.clock import OWED, Clock
from server.domain.events import Event
from server.domain.payloads import Observed
from server.domain.picture import Picture
from server.domain.policy import Policy
from server.domain.wording import CLOCK, figure
from server.domain.words import ClockName
from server.domain.workload.sets import sets_ahead
from server.pages.sheets.times import Times

BOXES: Final = 8  # time, temperature, pulse, respirations, pressure, SpO2, rate, initials
MOST_AHEAD: Final = 7
SPARE: Final = 1
UNKNOWN_LIMIT: Final = timedelta(hours=4)
OVERDUE_FOR: Final = timedelta(hours=1)

Boxes = tuple[str, ...]
EMPTY: Final[Boxes] = ("",) * BOXES


@dataclass(frozen=True, slots=True)
class Line:
    """One line: what is asked for and when, and its boxes; one that holds text is filled in."""

    what: str
    when: str
    boxes: Boxes = EMPTY


def lines_of(picture: Picture, times: Times, *, fahrenheit: bool) -> tuple[Line, ...]:
    """Answer the lines of one unit, the last known set first, each check along the policy."""
    known = _last_known(picture, times, fahrenheit=fahrenheit)
    spare = (Line("Further set", ""),) * SPARE
    episode, policy = picture.episode, picture.case.policy
    if episode.reaction is None and episode.started_at is None:
        return (*known, *_from_the_start(policy), *spare)
    if episode.reaction is None and episode.ended_at is not None:
        return (*known, *_after_the_end(picture, times), *spare)
    ahead = _ahead(picture, times)
    return (*known, *ahead, *_at_the_end(picture), *spare)


def _last_known(picture: Picture, times: Times, *, fahrenheit: bool) -> tuple[Line, ...]:
    now = picture.standing.now
    known = [one for one in picture.episode.observations if one.happened_at <= now]
    return (_filled(known[-1], times, fahrenheit=fahrenheit),) if known else ()


def _filled(event: Event, times: Times, *, fahrenheit: bool) -> Line:
    signs: Observed = event.payload  # type: ignore[assignment]
    boxes = [
        _sign(signs, name, fahrenheit=fahrenheit)
        for name in ("temperature_c", "pulse_per_min", "respirations_per_min")
    ]
    pressure = (signs.systolic_mmhg, signs.diastolic_mmhg)
    boxes.append("" if None in pressure else "/".join(f"{one:g}" for one in pressure))
    boxes.append(_sign(signs, "spo2_percent", fahrenheit=fahrenheit))
    return Line("Last known set", "", (times.short(event.happened_at), *boxes, "–", "–"))


def _sign(signs: Observed, name: str, *, fahrenheit: bool) -> str:
    value = getattr(signs, name)
    return "" if value is None else figure(name, value, fahrenheit=fahrenheit).split(" ")[0]


def _from_the_start(policy: Policy) -> tuple[Line, ...]:
    """A unit that is not started: its checks count from a time that only the paper will know."""
    before = Line("Baseline", f"in the {_span(policy.baseline_limit)} before start")
    due, limit = _span(policy.first_due), _span(policy.first_limit)
    lines = [before, Line("First check", f"{due} after start, by {limit}")]
    if policy.running_every:
        every, grace = _span(policy.running_every), _span(policy.running_grace)
        lines += [Line("Running check", f"{every} later, within {grace}")] * 3
    return (*lines, _end_line(policy))


def _ahead(picture: Picture, times: Times) -> tuple[Line, ...]:
    """A unit that runs, or a suspicion: each set as the schedule will ask for it."""
    now = picture.standing.now
    limit = picture.standing.finish_limit_at or now + UNKNOWN_LIMIT
    until = max(limit, now + OVERDUE_FOR)
    facts = picture.case.facts_of(picture.episode)
    owed = sets_ahead(facts, now, until)[:MOST_AHEAD]
    return tuple(_owed(one.clock, times, now) for one in owed)


def _after_the_end(picture: Picture, times: Times) -> tuple[Line, ...]:
    now = picture.standing.now
    return tuple(
        _owed(clock, times, now)
        for clock, state in picture.clocks
        if clock.name is ClockName.END_CHECK and state in OWED
    )


def _owed(clock: Clock, times: Times, now: datetime) -> Line:
    due, limit = clock.due_at, clock.limit_at
    late = limit is not None and limit < now
    said = "" if due is None else f"{'was due' if late else 'due'} {times.short(due)}"
    by = "" if limit is None else f", by {times.short(limit)}"
    return Line(CLOCK[clock.name], f"{said}{by}")


def _at_the_end(picture: Picture) -> tuple[Line, ...]:
    is_over = picture.episode.started_at is None or picture.episode.ended_at is not None
    return () if is_over else (_end_line(picture.case.policy),)


def _end_line(policy: Policy) -> Line:
    due, limit = _span(policy.end_due), _span(policy.end_limit)
    return Line(CLOCK[ClockName.END_CHECK], f"{due} after end, by {limit}")


def _span(length: timedelta) -> str:
    return f"{length // timedelta(minutes=1)} min"
