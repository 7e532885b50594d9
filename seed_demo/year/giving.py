"""While a unit runs: signs, rates, readings, a pause, an end in time or not."""

from datetime import datetime, timedelta
from math import ceil
from typing import Final

from seed_demo.year.bringing import usual_rate_ml_h
from seed_demo.year.lots import about, minutes
from seed_demo.year.telling import Telling
from server.domain.payloads import (
    Completed,
    Confirmed,
    Note,
    Paused,
    RateSet,
    Resumed,
    Stopped,
    Voided,
    VolumeRead,
)
from server.domain.words import ClockName, Confirmation, Priority

MINUTE: Final = timedelta(minutes=1)
PAUSES: Final = 0.04
READS: Final = 0.85
GLANCES: Final = 0.9
"""How often somebody reads the pump in passing, between two rounds."""

LOOKS_AT_SITE: Final = 0.9
SLIPS: Final = 0.012
CATCHES_UP: Final = 0.8
LOSES_VEIN: Final = 0.006
SAYS_SOMETHING: Final = 0.12
REVIEWS: Final = 0.6
STOPS_LATE: Final = 0.15
NEVER: Final = 0.2
"""Of the checks that are forgotten, how many nobody makes good."""

OVERLOOKED: Final = "other"
REMARKS: Final = (
    "comfortable, no complaints",
    "relatives at the bedside",
    "cannula site looks well",
    "asked to be woken for the next set only",
)


def give(telling: Telling, started: datetime) -> datetime:
    """Tell a unit from its start to its end; when it ended."""
    looked = _first_check(telling, started)
    resumed = _settle(telling, looked)
    at = looked
    while True:
        wanted = at + telling.work.ward.rounds * MINUTE
        empty = telling.empty_at()
        until = min(empty or wanted, telling.finish_at)
        if wanted >= until or (empty is not None and empty - wanted < 5 * MINUTE):
            return _end(telling)
        at = _round(telling, wanted, resumed)


def _first_check(telling: Telling, started: datetime) -> datetime:
    """After a quarter of an hour; when somebody looked."""
    rng, habits = telling.rng, telling.work.habits
    forgotten = rng.random() < habits.forgets_first
    lag = minutes(rng, 22, 50) if forgotten else about(rng, 15, habits.visits / 2)
    wanted = started + max(11 * MINUTE, lag)
    empty = telling.empty_at()
    if empty is not None and wanted > empty:
        wanted = max(started + 2 * MINUTE, empty - 2 * MINUTE)
    if forgotten:
        telling.causes[ClockName.FIRST_CHECK] = OVERLOOKED
    if forgotten and rng.random() < NEVER:
        return wanted
    at, by = telling.visit(wanted, ClockName.FIRST_CHECK)
    _look(telling, at, by)
    return at


def _look(telling: Telling, at: datetime, by: str) -> None:
    """Signs, the cannula, the pump; now and then a remark."""
    rng = telling.rng
    telling.took_signs(at, by)
    if rng.random() < LOOKS_AT_SITE:
        telling.did(at + minutes(rng, 0.2, 0.6), Confirmed(Confirmation.ACCESS), by)
    if rng.random() < READS:
        _read_volume(telling, at + minutes(rng, 0.6, 2))
    if rng.random() < SAYS_SOMETHING:
        telling.did(at + MINUTE, Note(rng.choice(REMARKS)), by)
    if rng.random() < REVIEWS:
        telling.did(at + minutes(rng, 0.2, 0.9), Confirmed(Confirmation.RATE_REVIEWED), by)


def _settle(telling: Telling, looked: datetime) -> datetime:
    """The rate for the rest, a pause now and then; from when on nothing of it is under way."""
    rng, at = telling.rng, looked + minutes(telling.rng, 0.5, 3)
    if telling.request.priority is Priority.EMERGENCY:
        return at
    empty = telling.empty_at()
    if empty is not None and at > empty:
        return at
    rate = usual_rate_ml_h(telling)
    if rate > telling.flow[-1][1]:
        telling.did(at, RateSet(rate))
        telling.runs(at, rate)
    telling.did(at + minutes(rng, 0.2, 1), Confirmed(Confirmation.RATE_REVIEWED))
    if rng.random() >= PAUSES:
        return at
    paused, resumed = at + minutes(rng, 2, 6), at + minutes(rng, 9, 22)
    telling.did(paused, Paused("cannula being replaced"))
    telling.did(resumed, Resumed())
    telling.runs(paused, 0.0)
    telling.runs(resumed, telling.flow[-2][1])
    return resumed


def _round(telling: Telling, wanted: datetime, resumed: datetime) -> datetime:
    """One look at a unit that runs; when it was."""
    rng, habits = telling.rng, telling.work.habits
    if rng.random() < GLANCES:
        _read_volume(telling, wanted - minutes(rng, 10, 15))
    lag = about(rng, 0, habits.visits)
    if rng.random() < habits.forgets_round:
        lag = minutes(rng, 18, 50)
        telling.causes[ClockName.RUNNING_CHECK] = OVERLOOKED
    at, by = telling.visit(wanted + lag, ClockName.RUNNING_CHECK)
    empty = telling.empty_at()
    if empty is not None and at >= empty:
        return at
    _look(telling, at, by)
    if at > resumed:
        _catch_up(telling, at + minutes(rng, 1, 4))
    return at


def _read_volume(telling: Telling, at: datetime) -> None:
    """What the pump says; a slip of the finger is taken back and typed again."""
    rng = telling.rng
    given = telling.read_ml(at)
    if rng.random() < SLIPS:
        slip = telling.did(at, VolumeRead(given * 10))
        telling.did(at + MINUTE, Voided(slip.id, "a nought too many"))
        telling.did(at, VolumeRead(given), late=MINUTE)
    else:
        telling.did(at, VolumeRead(given))


def _catch_up(telling: Telling, at: datetime) -> None:
    """A rate at which the unit would not be in by its limit is raised, mostly."""
    empty, limit = telling.empty_at(), telling.finish_at
    rate = telling.flow[-1][1]
    if empty is None or empty <= limit or at >= limit or telling.rng.random() >= CATCHES_UP:
        return
    hours = (limit - at) / timedelta(hours=1)
    needed = (telling.volume_ml - telling.given_ml(at)) / hours * 1.08
    faster = min(telling.ceiling_ml_h, 5.0 * ceil(needed / 5))
    if faster > rate:
        telling.did(at, RateSet(faster))
        telling.runs(at, faster)


def _end(telling: Telling) -> datetime:
    """The empty bag is found, the limit comes, or the vein is lost; when it ended."""
    rng, limit, empty = telling.rng, telling.finish_at, telling.empty_at()
    after = telling.last_at + MINUTE
    if rng.random() < LOSES_VEIN:
        at = after + minutes(rng, 1, 5)
        lost = Stopped("venous access was lost", telling.read_ml(at))
        telling.did(at, lost, telling.whoever(at))
        return at
    if empty is None or empty > limit:
        late = rng.random() < STOPS_LATE
        at = limit + (minutes(rng, 3, 35) if late else -minutes(rng, 1, 6))
        at = max(at, after)
        reached = Stopped("finish limit reached", telling.read_ml(at))
        telling.did(at, reached, telling.whoever(at))
        telling.causes[ClockName.FINISH] = OVERLOOKED
        return at
    wanted = max(empty, after) + minutes(rng, 0.5, 5)
    at, by = telling.visit(wanted, ClockName.FINISH)
    telling.did(at, Completed(telling.volume_ml), by)
    return at
