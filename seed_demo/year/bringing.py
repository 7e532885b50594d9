"""From the call for a unit to its start: storage, the way up, the bedside, two who check."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.running import USUAL_ML_H
from seed_demo.bags import handed_over
from seed_demo.staff import BLOOD_BANK
from seed_demo.told import CONFIRMED, agreed
from seed_demo.year.lots import minutes, skewed
from seed_demo.year.telling import Telling
from server.domain.payloads import (
    Assigned,
    Confirmed,
    Discarded,
    Inspected,
    Received,
    Returned,
    SetHung,
    Spiked,
    Started,
)
from server.domain.words import ClockName, Component, Confirmation, Priority

MINUTE: Final = timedelta(minutes=1)
GOES_BACK: Final = 0.018
NOT_SOUND: Final = 0.0015
MISMATCH: Final = 0.004
HARD_VEIN: Final = 0.035
SLOW_ML_H: Final = (50.0, 60.0)
FAST_ML_H: Final = (500.0, 900.0)
NEW_SET_AFTER: Final = timedelta(hours=9)
SERVES: Final = timedelta(minutes=25)
"""How old a set of signs may be that still serves as the one before the next unit."""

LATE: Final = timedelta(minutes=20)
"""A unit that was longer on its way came late, by what people say."""

WITH_UNIT: Final = timedelta(minutes=12)
"""After the start its nurse stays."""

ALONE: Final = 0.3
"""Of major bleedings, how often nobody else can come to check."""

NO_SECOND: Final = "no second checker free"
CAME_LATE: Final = "the unit came late"
VEIN: Final = "venous access"
LEAKS: Final = "the bag leaks"
OVERRIDE: Final = "major bleeding: second checker with the patient, unit read aloud"


def bring(telling: Telling, called: datetime, number: str) -> datetime | None:
    """Tell a unit from its call to its start; when it started, None if it never did."""
    rng, charge = telling.rng, telling.turn.charge
    telling.did(called, Assigned(telling.nurse), charge)
    confirmed = called
    for step in CONFIRMED:
        confirmed += minutes(rng, 0.3, 1)
        telling.did(confirmed, step)
    received = _handed(telling, confirmed, number)
    if rng.random() < GOES_BACK:
        _goes_back(telling, received + minutes(rng, 3, 22), "patient away or declined")
        return None
    return _at_bedside(telling, received)


def _handed(telling: Telling, confirmed: datetime, number: str) -> datetime:
    """Out of storage, over the counter, up to the ward; when it came."""
    rng, request = telling.rng, telling.request
    bleeds = request.priority is Priority.EMERGENCY
    removed = confirmed + minutes(rng, 1, 4)
    issued = removed + minutes(rng, 1, 3)
    way = skewed(rng, telling.work.habits.porter * (0.5 if bleeds else 1.0))
    bag = handed_over(
        telling.work.seed, request.id, request.component, telling.lying.patient, removed
    )
    telling.did(issued, replace(bag, unit_number=number), BLOOD_BANK.id)
    telling.removed_at = removed
    telling.finish_at = removed + telling.work.policy.finish_within[request.component]
    if bag.expires_at is not None:
        telling.finish_at = min(telling.finish_at, bag.expires_at)
    telling.did(issued, Confirmed(Confirmation.COLLECTED))
    received = issued + way
    telling.did(received, Received())
    if way > LATE:
        telling.causes[ClockName.START] = CAME_LATE
    return received


def _goes_back(telling: Telling, at: datetime, reason: str) -> None:
    """Back to the blood bank in time, or thrown away."""
    if at <= telling.removed_at + telling.work.policy.return_within:
        telling.did(at, Returned(reason))
    else:
        telling.did(at, Discarded(f"{reason}; out of storage for too long to go back"))


def _at_bedside(telling: Telling, received: datetime) -> datetime | None:
    rng, diary = telling.rng, telling.work.diary
    wanted = received + minutes(rng, 1, 3)
    urgent = telling.request.priority is not Priority.ROUTINE
    slot = diary.free_from(telling.nurse, wanted)
    came = wanted if urgent else slot.at
    if not urgent:
        telling.kept(ClockName.START, slot)
    sound = rng.random() >= NOT_SOUND
    telling.did(came, Inspected(leak=not sound))
    if not sound:
        _goes_back(telling, came + minutes(rng, 3, 8), LEAKS)
        return None
    ready = _prepare(telling, came)
    checked = _check_identity(telling, ready)
    started = checked + minutes(rng, 1, 3)
    telling.did(started - minutes(rng, 0.2, 0.9), Spiked())
    _start(telling, started)
    diary.book(telling.nurse, came, started + WITH_UNIT)
    return started


def _prepare(telling: Telling, came: datetime) -> datetime:
    """A set on the line where one is wanted, signs, a vein; when that was done."""
    rng = telling.rng
    at = came + minutes(rng, 0.5, 1.5)
    if _wants_set(telling, at):
        telling.did(at, SetHung())
        telling.lying.hung = (at, telling.request.component)
    if rng.random() < HARD_VEIN:
        at += minutes(rng, 8, 20)
        telling.causes[ClockName.START] = VEIN
    at += minutes(rng, 2, 4)
    if rng.random() >= telling.work.habits.forgets_baseline and not _has_fresh_signs(telling, at):
        telling.did(at, telling.signs(at))
    return at


def _wants_set(telling: Telling, at: datetime) -> bool:
    hung = telling.lying.hung
    if hung is None or at - hung[0] > NEW_SET_AFTER:
        return True
    after_other = hung[1] is not Component.PLATELETS
    if telling.request.component is not Component.PLATELETS or not after_other:
        return False
    return telling.rng.random() >= telling.work.habits.forgets_set


def _has_fresh_signs(telling: Telling, at: datetime) -> bool:
    return any(at - SERVES <= one.happened_at <= at for one in telling.lying.sets)


def _check_identity(telling: Telling, ready: datetime) -> datetime:
    """Two read everything; whoever bleeds may have one. When it was done."""
    rng, diary = telling.rng, telling.work.diary
    wanted = ready + minutes(rng, 1, 2)
    if telling.request.priority is Priority.EMERGENCY and rng.random() < ALONE:
        telling.did(wanted, agreed(telling.nurse, None))
        return wanted
    turn = diary.rota.at(wanted)
    second = diary.least_laden(turn, wanted, without=telling.nurse)
    slot = diary.free_from(second, wanted)
    if slot.at - wanted > 5 * MINUTE:
        telling.causes.setdefault(ClockName.START, NO_SECOND)
    if rng.random() < MISMATCH:
        telling.did(slot.at, agreed(telling.nurse, second, wrong="record number"))
        checked = slot.at + minutes(rng, 3, 7)
    else:
        checked = slot.at + MINUTE
    telling.did(checked, agreed(telling.nurse, second))
    diary.book(second, slot.at - 2 * MINUTE, checked)
    return checked


def _start(telling: Telling, started: datetime) -> None:
    rng, request = telling.rng, telling.request
    one_checker = any(
        getattr(event.payload, "second_by", "") is None for event in telling.events[-2:]
    )
    bleeds = request.priority is Priority.EMERGENCY
    slow = min(rng.uniform(*SLOW_ML_H), telling.ceiling_ml_h)
    rate = 5.0 * round(rng.uniform(*FAST_ML_H) / 5) if bleeds else float(round(slow))
    telling.did(
        started,
        Started(rate, "left forearm", override_reason=OVERRIDE if one_checker else None),
    )
    telling.runs(started, rate)


def usual_rate_ml_h(telling: Telling) -> float:
    """The rate that this unit's nurse likes, below every ceiling; now and then a timid one."""
    low, high = USUAL_ML_H[telling.request.component]
    usual = telling.rng.uniform(low, high)
    if telling.rng.random() < telling.work.habits.timid:
        usual *= 0.5
    return min(telling.ceiling_ml_h, 5.0 * round(usual / 5))
