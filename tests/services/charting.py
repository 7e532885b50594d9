"""Charting on a real database: facts told by minutes from one base instant."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import select

from server.domain.payloads import Issued, Observed, Payload, Started
from server.domain.policy import Policy, parse_policy
from server.domain.request import Request
from server.domain.words import ClockName, ClockState, Component
from server.services.actor import Actor
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.policies import put_in_force
from server.services.read_board import Board, read_board
from server.services.read_episode import EpisodeRead, read_episode
from server.services.rebuild import Rebuilt, rebuild
from server.services.record_event import Draft, Recorded, record_event
from server.services.record_observation import record_observation
from server.services.tick import Ticked, tick
from server.store.clock_states import ClockRecord, read_clocks
from server.store.reminders import RaisedReminder, reminders_since
from server.store.states import EpisodeState, read_states
from server.store.store import Store
from server.store.tables import CATALOGUE
from server.store.transitions import Transition, transitions_of
from tests.domain.builders import CHECKED, FULL, KIND_OF, POLICIES, SOUND, at
from tests.services.people import CHARGE, NURSE, PROGRAM

Minute = float | datetime
Rows = dict[str, list[tuple[Any, ...]]]
START: Final = Started(60)
BEFORE_START: Final[tuple[Payload, ...]] = (SOUND, CHECKED)


def instant(when: Minute) -> datetime:
    """The instant so many minutes after the base."""
    return when if isinstance(when, datetime) else at(when)


@dataclass(frozen=True)
class Charting:
    """A store, and short ways to use the services on it."""

    store: Store

    def open(self, episode_id: str = "e1", patient_id: str = "p1", **fields: Any) -> Request:
        """Ask for 280 mL of red cells for bed 4 of `w1`, an hour before the base."""
        given: dict[str, Any] = {
            "ward_id": "w1",
            "bed": "4",
            "component": Component.RED_CELLS,
            "volume_ml": 280.0,
        }
        now = instant(fields.pop("now", -60))
        draft = EpisodeDraft(id=episode_id, patient_id=patient_id, **(given | fields))
        with self.store.write() as session:
            return open_episode(session, PROGRAM, draft, now=now)

    def record(
        self,
        when: Minute,
        payload: Payload,
        episode_id: str = "e1",
        *,
        now: Minute | None = None,
        actor: Actor = NURSE,
        **draft: Any,
    ) -> Recorded:
        """Record a fact on a unit; without `now` at once."""
        happened_at = instant(when)
        with self.store.write() as session:
            wanted = Draft(KIND_OF[type(payload)], happened_at, payload, **draft)
            recorded_at = happened_at if now is None else instant(now)
            return record_event(session, actor, episode_id, wanted, now=recorded_at)

    def observe(
        self,
        when: Minute,
        patient_id: str = "p1",
        observed: Observed = FULL,
        *,
        now: Minute | None = None,
        actor: Actor = NURSE,
    ) -> Recorded:
        """Record a set of vital signs on a patient."""
        happened_at = instant(when)
        recorded_at = happened_at if now is None else instant(now)
        with self.store.write() as session:
            return record_observation(
                session, actor, patient_id, observed, happened_at=happened_at, now=recorded_at
            )

    def issue(self, episode_id: str = "e1", *, minute: float = 0, **issued: Any) -> Recorded:
        """Issue a unit."""
        return self.record(minute, Issued(**issued), episode_id)

    def start(self, episode_id: str = "e1", *, minute: float = 10, rate: float = 60) -> Recorded:
        """Check and start an issued unit."""
        for payload in BEFORE_START:
            self.record(minute - 2, payload, episode_id)
        return self.record(minute, Started(rate), episode_id)

    def run(self, episode_id: str = "e1", patient_id: str = "p1", **fields: Any) -> None:
        """Ask for a unit, issue it at the base and start it at 10 min, with a baseline at 5."""
        self.open(episode_id, patient_id, **fields)
        self.issue(episode_id)
        self.observe(5, patient_id)
        self.start(episode_id)

    def tick(self, when: Minute) -> Ticked:
        """Tick once."""
        return tick(self.store, now=instant(when))

    def tick_each(self, seconds: int, start: Minute, end: Minute) -> None:
        """Tick every so many seconds from one instant to another, both included."""
        now, last = instant(start), instant(end)
        while now <= last:
            tick(self.store, now=now)
            now += timedelta(seconds=seconds)

    def rebuild(self, when: Minute) -> Rebuilt:
        """Work out every unit anew."""
        return rebuild(self.store, lambda: instant(when))

    def board(
        self,
        when: Minute,
        *,
        at: Minute | None = None,
        known_at: Minute | None = None,
        ward_id: str = "w1",
    ) -> Board:
        """The board as the program sees it."""
        with self.store.read() as session:
            return read_board(
                session,
                PROGRAM,
                ward_id,
                now=instant(when),
                at=None if at is None else instant(at),
                known_at=None if known_at is None else instant(known_at),
            )

    def episode(self, when: Minute, episode_id: str = "e1", **asked: Any) -> EpisodeRead:
        """One unit in full."""
        given = {name: instant(value) for name, value in asked.items()}
        with self.store.read() as session:
            return read_episode(session, CHARGE, episode_id, now=instant(when), **given)

    def put_in_force(self, policy: Policy, *, when: Minute, ward_id: str = "w1") -> None:
        """Have a ward run under a policy from an instant on."""
        with self.store.write() as session:
            put_in_force(session, ward_id, policy, now=instant(when))

    def state(self, episode_id: str = "e1") -> EpisodeState:
        """The derived row of a unit."""
        with self.store.read() as session:
            return read_states(session, [episode_id])[episode_id]

    def clocks(self, episode_id: str = "e1") -> dict[str, ClockRecord]:
        """The derived clocks of a unit by name and number."""
        with self.store.read() as session:
            found = read_clocks(session, [episode_id]).get(episode_id, ())
        return {f"{clock.clock}:{clock.n}": clock for clock in found}

    def clock_states(self, episode_id: str = "e1") -> dict[str, ClockState]:
        """How the derived clocks of a unit stand."""
        return {name: clock.state for name, clock in self.clocks(episode_id).items()}

    def transitions(self, episode_id: str = "e1") -> tuple[Transition, ...]:
        """What was crossed."""
        with self.store.read() as session:
            return transitions_of(session, episode_id)

    def reminders(
        self, ward_id: str = "w1", clock: ClockName | None = None
    ) -> tuple[RaisedReminder, ...]:
        """What was raised."""
        with self.store.read() as session:
            raised = reminders_since(session, ward_id)
        return tuple(one for one in raised if clock in (None, one.clock))

    def everything(self, *but: str) -> Rows:
        """Every row of every table, but for some tables."""
        with self.store.read() as session:
            return {
                name: sorted((tuple(row) for row in session.rows(select(table))), key=repr)
                for name, table in CATALOGUE.tables.items()
                if name not in but
            }


def local_policy(values: str, name: str = "local") -> Policy:
    """A policy that differs from the common one in a few values, as a local file states them."""
    head = '[policy]\ntitle = "Local"\nbased_on = "common"\n'
    sourced = values.replace("\nvalue", '\nsource = "agreed on the ward"\nvalue')
    return parse_policy(head + sourced, name=name, bases=POLICIES)


def words_of(board: Board) -> list[tuple[str, str, str]]:
    """What a board says: id, level and reason of each row, in order."""
    return [
        (row.picture.case.request.id, row.picture.urgency.level, row.picture.urgency.reason)
        for row in board.rows
    ]


def reason_of(board: Board, episode_id: str) -> str:
    """Why the row of a unit stands where it stands."""
    return {one: why for one, _, why in words_of(board)}[episode_id]


def ids_of(board: Board) -> list[str]:
    """The ids of the rows of a board, in order."""
    return [row.picture.case.request.id for row in board.rows]


def stages(raised: Sequence[RaisedReminder]) -> list[tuple[str, int, datetime]]:
    """Stage, repeat and stamp of reminders, in the order of the stamps."""
    return sorted(
        ((one.stage.value, one.repeat, one.owed_at) for one in raised), key=lambda one: one[2]
    )
