"""A shift in which anything happens in any order: facts, voids, late entries, ticks, changes.

What the services refuse is refused; everything else is on record, and must add up.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hypothesis import strategies as st

from server.domain.errors import Invalid, Refused
from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Available,
    Cancelled,
    CauseGiven,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Note,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Received,
    Resumed,
    Returned,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    Voided,
    VolumeRead,
)
from server.domain.words import ClockName, Component, Fate, Phase
from server.services.enter_staff import enter_staff
from server.services.enter_ward import enter_ward
from server.services.errors import Conflict
from server.store.log import events_after
from tests.domain.builders import BASE, CHECKED, FULL, PARTIAL, POLICIES, SOUND, at
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, NURSE, P1, PROGRAM, WARD_1, register, staff_draft

UNITS: Final = (
    ("e1", "p1", "w1", Component.RED_CELLS),
    ("e2", "p1", "w1", Component.PLATELETS),
    ("e3", "p2", "w1", Component.PLASMA),
    ("e4", "p1", "w2", Component.RED_CELLS),
)
ANYTIME: Final[tuple[Payload, ...]] = (
    FULL,
    Note("seen"),
    Assigned("nurse-1"),
    Assigned("nurse-2"),
    *(Acknowledged(clock, "nurse-1") for clock in ClockName),
    CauseGiven(ClockName.START, "porter late"),
)
NEXT: Final[Mapping[Phase, tuple[Payload, ...]]] = {
    Phase.REQUESTED: (Issued(), Available(), Issued(volume_ml=300), Cancelled("not needed")),
    Phase.AVAILABLE: (Issued(), Issued(removed_at=at(-5)), Issued(expires_at=at(150))),
    Phase.ISSUED: (
        Started(60, override_reason="urgent"),
        Started(300, override_reason="urgent"),
        SetHung(),
        SOUND,
        CHECKED,
        Received(),
        Spiked(),
        Started(120),
        Returned(),
        Discarded("leak"),
    ),
    Phase.RUNNING: (
        FULL,
        RateSet(150),
        PARTIAL,
        RateSet(20),
        VolumeRead(100),
        Paused(),
        SetChanged(),
        ReactionSuspected(("rigors",)),
        Completed(280),
        Stopped("reaction", 120),
    ),
    Phase.PAUSED: (Resumed(), FULL, Resumed(90), Stopped("line lost")),
    Phase.ENDED: (FULL, FateRecorded(Fate.TRANSFUSED), Returned(), ReactionClosed("none")),
    Phase.CLOSED: (FULL, ReactionSuspected(()), ReactionClosed("none")),
    Phase.RETURNED: (FateRecorded(Fate.RETURNED),),
    Phase.DISCARDED: (FateRecorded(Fate.DISCARDED),),
    Phase.CANCELLED: (Note("withdrawn"),),
}


class Step(NamedTuple):
    """What is done, on which unit, how many seconds later, how many minutes late, which one."""

    act: str
    unit: int
    seconds: int
    late: int
    pick: int


@dataclass
class Shift:
    """Where the shift stands."""

    charting: Charting
    now: datetime = BASE

    def begin(self) -> "Shift":
        """Ask for all units."""
        for episode_id, patient_id, ward_id, component in UNITS:
            self.charting.open(episode_id, patient_id, ward_id=ward_id, component=component)
        return self

    def play(self, step: Step, charting: Charting | None = None) -> None:
        """Do one step, through another store if one is given."""
        self.now += timedelta(seconds=step.seconds)
        told_to = charting or self.charting
        with suppress(Refused, Invalid, Conflict):
            ACTS[step.act](told_to, self.now, step)


def _fact(charting: Charting, now: datetime, step: Step) -> None:
    episode_id = UNITS[step.unit][0]
    payloads = NEXT[charting.state(episode_id).phase]
    _record(charting, now, step, payloads[step.pick % len(payloads)])


def _remark(charting: Charting, now: datetime, step: Step) -> None:
    _record(charting, now, step, ANYTIME[step.pick % len(ANYTIME)])


def _record(charting: Charting, now: datetime, step: Step, payload: Payload) -> None:
    happened_at = now - timedelta(minutes=step.late)
    charting.record(happened_at, payload, UNITS[step.unit][0], now=now, actor=PROGRAM)


def _observe(charting: Charting, now: datetime, step: Step) -> None:
    happened_at = now - timedelta(minutes=step.late)
    charting.observe(happened_at, UNITS[step.unit][1], now=now, actor=PROGRAM)


def _void(charting: Charting, now: datetime, step: Step) -> None:
    with charting.store.read() as session:
        logged = events_after(session, 0)
    if logged:
        mistaken = logged[-1 - step.pick % min(len(logged), 6)].event
        episode_id = mistaken.episode_id or UNITS[step.unit][0]
        charting.record(now, Voided(mistaken.id, "mistake"), episode_id, actor=PROGRAM)


def _tick(charting: Charting, now: datetime, _: Step) -> None:
    charting.tick(now)


def _wait(_charting: Charting, _now: datetime, _step: Step) -> None:
    """Nothing is done."""


def _change_patient(charting: Charting, now: datetime, step: Step) -> None:
    risks = ("heart failure",) if step.pick % 2 else ()
    changed = replace(P1, weight_kg=40 + step.pick, overload_risks=risks)
    with charting.store.write() as session:
        register(session, changed, minute=(now - at(0)) / timedelta(minutes=1))


def _change_staff(charting: Charting, now: datetime, step: Step) -> None:
    renamed = replace(staff_draft(NURSE), name=f"Nina {step.pick}")
    with charting.store.write() as session:
        enter_staff(session, ADMINISTRATOR, renamed, now=now)


def _change_ward(charting: Charting, now: datetime, step: Step) -> None:
    zone = ("Europe/London", "Asia/Kolkata", "America/St_Johns")[step.pick % 3]
    policy = ("common", "nz", "uk")[step.pick % 3]
    changed = replace(WARD_1, timezone=zone, policy=policy)
    with charting.store.write() as session:
        enter_ward(session, ADMINISTRATOR, changed, POLICIES, now=now)


ACTS: Final[Mapping[str, Callable[[Charting, datetime, Step], None]]] = {
    "fact": _fact,
    "ahead": _fact,
    "remark": _remark,
    "observe": _observe,
    "void": _void,
    "tick": _tick,
    "wait": _wait,
    "change patient": _change_patient,
    "change staff": _change_staff,
    "change ward": _change_ward,
}
ON_RECORD: Final = ("fact", "fact", "fact", "remark", "observe", "void", "tick", "wait")
"""What a replay can show again: names of staff and the ward's own settings are those of now."""
EVERYTHING: Final = (*ON_RECORD, "ahead", "change patient", "change staff", "change ward")


def steps(
    acts: tuple[str, ...], *, least: int = 5, most: int = 25, longest: int = 30_000
) -> st.SearchStrategy[list[Step]]:
    """Shifts of some steps, at most `longest` seconds apart; some facts are ahead of the clock."""
    gaps = (1, 0, 7, 59, 60, 301, 600, 1_800, 4_000, 30_000)
    seconds = st.sampled_from([gap for gap in gaps if gap <= longest])
    late = st.sampled_from((0, 0, 0, 0, 1, 12, 45, 300, *([-1, -2] if "ahead" in acts else [])))
    step = st.builds(
        Step, st.sampled_from(acts), st.integers(0, 3), seconds, late, st.integers(0, 19)
    )
    return st.lists(step, min_size=least, max_size=most)
