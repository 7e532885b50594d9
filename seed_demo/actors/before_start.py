"""From the hand-over to the start: arrive, look, hang, observe, check, spike, start."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from seed_demo import chance
from seed_demo.actors.by_plan import bedside_at, planned_second
from seed_demo.actors.scene import Look, Wish
from seed_demo.told import CONFIRMED, agreed
from seed_demo.vital_signs import Body
from server.domain.payloads import (
    Discarded,
    IdentityChecked,
    Inspected,
    Observed,
    Received,
    Returned,
    SetHung,
    Spiked,
    Started,
)
from server.domain.words import ClockName

BASELINE_KEEPS: Final = timedelta(minutes=40)
SCHOOL_AGE: Final = 6

Step = Callable[[Look], Wish | None]


def wish_before_start(look: Look) -> Wish | None:
    """The next step of a unit that was handed over and is not started."""
    wishes = (step(look) for step in _STEPS)
    return next((wish for wish in wishes if wish is not None), None)


def signs_now(look: Look) -> Observed:
    """A full set of this patient's signs, taken now."""
    patient = look.picture.case.patient
    age = patient.age_years(look.now.date())
    body = Body(look.seed, patient.id, is_child=age is not None and age < SCHOOL_AGE)
    return body.set_at(look.now)


def second_checker(look: Look) -> str:
    """Who reads along: as planned, else another nurse who is free, else the charge nurse."""
    planned = planned_second(look)
    if planned is not None and planned != look.episode.nurse_id:
        return planned
    free = [
        duty.staff_id
        for duty in look.shift.nurses
        if duty.is_free(look.now) and duty.staff_id != look.episode.nurse_id
    ]
    return chance.one_of(free, look.seed, look.id, "second") if free else look.shift.charge.staff_id


def _confirm(look: Look) -> Wish | None:
    """What is confirmed once the unit is called: the order, the sample, the line."""
    left = [one for one in CONFIRMED if one.step not in look.episode.confirmed]
    return Wish(_issued(look) + look.lag("confirmed", 0, 1), left[0]) if left else None


def _receive(look: Look) -> Wish | None:
    if look.episode.received_at is not None:
        return None
    return Wish(_issued(look) + look.lag("received", 3, 8), Received())


def _give_up(look: Look) -> Wish | None:
    """It could no longer be in by its limit, even at the ceiling."""
    latest = look.picture.infusion.latest_start_at
    if latest is None or look.now <= latest:
        return None
    return Wish(latest, Discarded("out of storage too long to be given in time"))


def _send_back(look: Look) -> Wish | None:
    inspection, at = look.episode.inspection, look.episode.inspected_at
    if inspection is None or at is None or not inspection.findings:
        return None
    return Wish(at + look.lag("back", 2, 5), Returned("clots seen; back to the laboratory"))


def _inspect(look: Look) -> Wish | None:
    if look.episode.inspection is not None:
        return None
    """Once its nurse turns to it: when the plan says, else as soon as it has come."""
    received = look.episode.received_at or look.now
    found = Inspected(clots=look.happens(0.03, "clots"))
    turns = max(received, bedside_at(look) or received)
    return Wish(turns + look.lag("inspected", 1, 3), found)


def _hang(look: Look) -> Wish | None:
    """A new set, unless one that may be used is on the line already."""
    clock = look.owed(ClockName.SET_CHANGE)
    is_on_line = clock is not None and clock.rule == "giving_set.hours"
    if look.episode.hung or is_on_line:
        return None
    inspected = look.episode.inspected_at or look.now
    return Wish(inspected + look.lag("hung", 0.5, 2), SetHung())


def _observe(look: Look) -> Wish | None:
    if look.sets and look.now - look.sets[-1] <= BASELINE_KEEPS:
        return None
    inspected = look.episode.inspected_at or look.now
    return Wish(inspected + look.lag("baseline", 2, 5), signs_now(look))


def _check(look: Look) -> Wish | None:
    identity, at = look.episode.identity, look.episode.identity_at
    if identity is not None and identity.passed:
        return None
    inspected = look.episode.inspected_at or look.now
    if at is not None:
        return Wish(at + look.lag("check again", 2, 5), _checked(look))
    return Wish(inspected + look.lag("check", 4, 8), _checked(look, first=True))


def _checked(look: Look, *, first: bool = False) -> IdentityChecked:
    nurse, second = look.episode.nurse_id or look.shift.charge.staff_id, second_checker(look)
    if first and look.happens(0.06, "mismatch"):
        return agreed(nurse, second, wrong="record number")
    return agreed(nurse, second)


def _spike(look: Look) -> Wish | None:
    checked = look.episode.identity_at
    if look.episode.spiked_at is not None or checked is None:
        return None
    return Wish(checked + look.lag("spiked", 0.5, 2), Spiked())


def _start(look: Look) -> Wish | None:
    spiked = look.episode.spiked_at or look.now
    permitted = look.picture.infusion.permitted_rate_ml_h
    slow = min(look.picture.case.policy.rate_first_max_ml_h, permitted / 2)
    rate = max(10.0, 5 * (slow // 5))
    return Wish(spiked + look.lag("started", 0.5, 1.5), Started(rate, "left forearm"))


def _issued(look: Look) -> datetime:
    return look.episode.issued_at or look.now


_STEPS: Final[tuple[Step, ...]] = (
    _give_up,
    _confirm,
    _receive,
    _send_back,
    _inspect,
    _hang,
    _observe,
    _check,
    _spike,
    _start,
)
