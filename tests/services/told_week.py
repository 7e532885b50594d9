"""A week on a ward as it really goes: late entries, mistakes taken back, covers, reactions, plans.

From a seed, as instants and what is done at them; what the services refuse is refused.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random
from typing import Final

from server.domain.errors import Invalid, Refused
from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Cancelled,
    Completed,
    FateRecorded,
    Payload,
    ReactionClosed,
    ReactionSuspected,
    Returned,
    Stopped,
    Voided,
)
from server.domain.words import ClockName, Component, Fate, Level, Phase
from server.services.accept_plan import accept_plan, discard_plan
from server.services.acknowledge import acknowledge
from server.services.cover import CoverDraft, cover, end_cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.errors import Conflict, Forbidden
from server.store.covers import covers_between
from server.store.log import ward_events_after
from server.store.plans import plan_in_force
from server.store.states import EpisodeState, read_states
from tests.domain.builders import BASE, at
from tests.services.charting import Charting, local_policy
from tests.services.people import CHARGE, COLLEAGUE, NURSE, P1, P2, PROGRAM, register
from tests.services.planned_ward import keep_list_plan
from tests.services.random_shift import NEXT

DAYS: Final = 7
END: Final = BASE + timedelta(days=DAYS)
NURSES: Final = (NURSE.id, COLLEAGUE.id, CHARGE.id)
MOST_OPEN: Final = 6
LATE: Final = (0, 0, 0, 0, 1, 4, 20, 45, 130, -1)
"""Minutes after which something is charted; one below 0 comes from a clock that is ahead."""

# A ward that is left alone for long would raise thousands of repeats, which prove nothing more.
_PATIENT = "[reminders.repeat_minutes]\nvalue = 60\n[reminders.repeat_hours]\nvalue = 3\n"
POLICIES: Final = tuple(
    local_policy(f"{_PATIENT}[start.target_minutes]\nvalue = {minutes}\n", name=f"start{minutes}")
    for minutes in (20, 30, 45)
)
FINISH: Final[dict[Phase, Payload]] = {
    Phase.REQUESTED: Cancelled("not needed"),
    Phase.AVAILABLE: Cancelled("not needed"),
    Phase.ISSUED: Returned(),
    Phase.RUNNING: Completed(280),
    Phase.PAUSED: Stopped("line lost"),
    Phase.ENDED: FateRecorded(Fate.TRANSFUSED),
}
NOT_DONE: Final = (Refused, Invalid, Conflict, Forbidden)
_OVER: Final = frozenset({Phase.CLOSED, Phase.RETURNED, Phase.DISCARDED, Phase.CANCELLED})


@dataclass
class Week:
    """The week of ward `w1` from a seed, with something every `minutes` on average."""

    charting: Charting
    seed: int
    minutes: float
    now: datetime = BASE
    units: list[str] = field(default_factory=list)
    refused: int = 0
    done: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.random = Random(self.seed)  # noqa: S311 - a simulation, repeated by its seed
        self.charting.put_in_force(POLICIES[0], when=BASE)
        _order(self)
        self.done = {"order": 1}
        for number in range(DAYS * 2):
            for who in (NURSE, COLLEAGUE, CHARGE):
                begins = BASE + timedelta(hours=12 * number - 1)
                draft = ShiftDraft(who.id, "w1", begins, begins + timedelta(hours=13))
                with self.charting.store.write() as session:
                    enter_shift(session, CHARGE, draft, now=BASE)

    def __iter__(self) -> Iterator[datetime]:
        """The instant of what comes next; it is done when one asks for what comes after it."""
        while True:
            self.now += timedelta(seconds=1 + int(self.random.expovariate(1 / self.minutes) * 60))
            if self.now >= END:
                return
            yield self.now
            act = self.random.choices(list(ACTS), [often for often, _ in ACTS.values()])[0]
            try:
                ACTS[act][1](self)
            except NOT_DONE:
                self.refused += 1
            else:
                self.done[act] = self.done.get(act, 0) + 1

    def open_units(self) -> dict[str, EpisodeState]:
        """The units that still ask for something, those asked for first at the front."""
        with self.charting.store.read() as session:
            states = read_states(session, self.units)
        return {
            unit: states[unit]
            for unit in self.units
            if states[unit].phase not in _OVER or states[unit].level is Level.REACTION
        }

    def unit(self) -> str:
        """Any unit that is open, so that the ward does not fill with what stands still."""
        return self.random.choice(list(self.open_units()) or self.units)

    def record(self, payload: Payload, unit: str) -> None:
        """Chart a fact, now and then late or ahead of the clock."""
        happened_at = self.now - timedelta(minutes=self.random.choice(LATE))
        self.charting.record(happened_at, payload, unit, now=self.now, actor=PROGRAM)

    def phase(self, unit: str) -> Phase:
        """How far a unit is."""
        return self.charting.state(unit).phase


def _order(week: Week) -> None:
    if week.units and len(week.open_units()) >= MOST_OPEN:
        return _fact(week)
    unit = f"u{len(week.units) + 1}"
    week.charting.open(
        unit,
        week.random.choice(("p1", "p2")),
        now=week.now,
        bed=str(week.random.randint(1, 12)),
        component=week.random.choice(tuple(Component)),
        nurse_id=week.random.choice((None, *NURSES)),
        requested_at=week.now - timedelta(minutes=week.random.choice((0, 0, 90))),
    )
    week.units.append(unit)
    return None


def _fact(week: Week) -> None:
    unit = week.unit()
    week.record(week.random.choice(NEXT[week.phase(unit)]), unit)


def _finish(week: Week) -> None:
    """Whatever has been open for longest comes to its end."""
    for unit, state in week.open_units().items():
        is_reaction = state.level is Level.REACTION
        payload = ReactionClosed("none") if is_reaction else FINISH[state.phase]
        week.charting.record(week.now, payload, unit, actor=PROGRAM)
        return


def _suspect(week: Week) -> None:
    week.record(ReactionSuspected(("rigors",)), week.unit())


def _observe(week: Week) -> None:
    happened_at = week.now - timedelta(minutes=week.random.choice(LATE))
    patient = week.random.choice(("p1", "p2"))
    week.charting.observe(happened_at, patient, now=week.now, actor=PROGRAM)


def _assign(week: Week) -> None:
    week.record(Assigned(week.random.choice(NURSES)), week.unit())


def _have(week: Week) -> None:
    unit, clock = week.unit(), week.random.choice(tuple(ClockName))
    if week.random.random() < 0.5:
        return week.record(Acknowledged(clock, "nurse-2"), unit)
    with week.charting.store.write() as session:
        acknowledge(session, NURSE, unit, clock, now=week.now)
    return None


def _take_back(week: Week) -> None:
    with week.charting.store.read() as session:
        logged = ward_events_after(session, "w1", 0)
    mistaken = week.random.choice(logged[-12:]).event
    unit = mistaken.episode_id or week.unit()
    week.charting.record(week.now, Voided(mistaken.id, "mistake"), unit, actor=PROGRAM)


def _cover(week: Week) -> None:
    covering, covered = week.random.sample(NURSES, 2)
    begins = week.now + timedelta(minutes=week.random.choice((0, 0, 60)))
    draft = CoverDraft("w1", covering, covered, begins, begins + timedelta(minutes=90))
    with week.charting.store.write() as session:
        cover(session, CHARGE, draft, now=week.now)


def _end_cover(week: Week) -> None:
    with week.charting.store.write() as session:
        lasting = covers_between(session, ["w1"], week.now, week.now + timedelta(hours=4))
        for one in lasting[:1]:
            end_cover(session, CHARGE, one.id, now=week.now)


def _know_the_patient(week: Week) -> None:
    risks = week.random.choice(((), ("heart failure",)))
    changed = replace(week.random.choice((P1, P2)), weight_kg=60.0, overload_risks=risks)
    with week.charting.store.write() as session:
        register(session, changed, minute=(week.now - at(0)) / timedelta(minutes=1))


def _change_policy(week: Week) -> None:
    week.charting.put_in_force(week.random.choice(POLICIES), when=week.now)


def _plan(week: Week) -> None:
    plan = keep_list_plan(week.charting.store, f"plan-{week.now:%d%H%M%S}", week.now)
    with week.charting.store.write() as session:
        accept_plan(session, CHARGE, plan.id, now=week.now)


def _drop_the_plan(week: Week) -> None:
    with week.charting.store.write() as session:
        plan = plan_in_force(session, "w1", week.now)
        if plan is not None:
            discard_plan(session, CHARGE, plan.id, now=week.now)


ACTS: Final[dict[str, tuple[float, Callable[[Week], None]]]] = {
    "order": (10, _order),
    "fact": (40, _fact),
    "finish": (20, _finish),
    "observe": (14, _observe),
    "assign": (5, _assign),
    "have": (6, _have),
    "take back": (6, _take_back),
    "suspect": (1, _suspect),
    "cover": (4, _cover),
    "end cover": (2, _end_cover),
    "patient": (2, _know_the_patient),
    "policy": (0.7, _change_policy),
    "plan": (2, _plan),
    "drop plan": (1, _drop_the_plan),
}
