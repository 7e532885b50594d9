"""Work out units whose facts came in whole, and note what ticks would have noted of them meanwhile.

Reading and reckoning need no turn to write: many processes may do it at once, while one writes.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import blake2b

from server.domain.issued_units import IssuedUnit, issued_unit
from server.domain.noticed import Noted, Raised, noticed
from server.domain.picture import Picture
from server.domain.reminders import acknowledgement_of
from server.domain.words import Recipient, Role
from server.services.actor import Actor
from server.services.cases import load_cases
from server.services.derived import derive
from server.services.enter_shift import LONGEST
from server.services.keep_past import require_whole
from server.services.raise_reminders import identity_of
from server.services.recipients import recipient_of
from server.store.clock_states import ClockRecord, save_clocks
from server.store.issued_units import save_issued_units
from server.store.reminders import RaisedReminder, keep_reminders
from server.store.requests import episode_ids_not_worked_out
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import Shift, shifts_of_role
from server.store.states import EpisodeState, save_states
from server.store.transitions import Transition, add_transitions
from server.store.wards import list_wards


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """The derived rows of units, with the crossings and reminders of their past."""

    states: list[EpisodeState] = field(default_factory=list)
    clocks: dict[str, tuple[ClockRecord, ...]] = field(default_factory=dict)
    units: dict[str, IssuedUnit | None] = field(default_factory=dict)
    transitions: list[Transition] = field(default_factory=list)
    reminders: list[RaisedReminder] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Told:
    """Who was in charge of each ward when, by start, and its next contact.

    Nobody covers for anybody in a past that comes in whole.
    """

    in_charge: dict[str, list[Shift]]
    contacts: dict[str, str]

    def whom(self, raised: Raised) -> str:
        """Whom a reminder went to when it was raised, by the rules of `Recipients`."""
        standing, at = raised.standing, raised.raised_at
        ward_id = standing.episode.request.ward_id
        named = recipient_of(raised.reminder.stage, standing.policy)
        if named is Recipient.NEXT_CONTACT:
            return self.contacts.get(ward_id) or Recipient.NEXT_CONTACT.value
        if named is Recipient.MANAGER:
            return Role.MANAGER.value
        nurse_id = standing.episode.nurse_id if named is Recipient.UNIT_NURSE else None
        return nurse_id or self._in_charge_at(ward_id, at)

    def _in_charge_at(self, ward_id: str, at: datetime) -> str:
        shifts = self.in_charge.get(ward_id, [])
        # Who came on longer ago than a shift can last has left.
        begun = bisect_right(shifts, at, key=lambda shift: shift.starts_at)
        first = bisect_right(shifts, at - LONGEST, key=lambda shift: shift.starts_at)
        on_duty = (one.staff_id for one in shifts[first:begun] if one.ends_at > at)
        return next(on_duty, Role.CHARGE_NURSE.value)


def read_told(session: ReadSession) -> Told:
    """Read who was in charge when, and each ward's next contact."""
    in_charge: dict[str, list[Shift]] = defaultdict(list)
    for shift in shifts_of_role(session, Role.CHARGE_NURSE):
        in_charge[shift.ward_id].append(shift)
    wards = list_wards(session)
    return Told(in_charge, {ward.id: ward.next_contact for ward in wards if ward.next_contact})


def list_not_worked_out(session: ReadSession, actor: Actor) -> tuple[str, ...]:
    """The units whose facts are there and whose rows are not. Raises `Forbidden`."""
    require_whole(actor)
    return episode_ids_not_worked_out(session)


def work_out_past(
    session: ReadSession, told: Told, episode_ids: Sequence[str], *, now: datetime
) -> WorkedOut:
    """Answer everything that is to be stored about units whose facts are all there.

    Raises `Refused` where the facts of a unit, as they were known at some instant, could not be.
    """
    done = WorkedOut()
    for episode_id, case in load_cases(session, episode_ids, now=now).items():
        derived, past = derive(case, now), noticed(case, now)
        done.states.append(derived.state)
        done.clocks[episode_id] = derived.clocks
        done.units[episode_id] = issued_unit(derived.picture.episode)
        done.transitions.extend(_transition(episode_id, one) for one in past.noted)
        done.reminders.extend(_raised(derived.picture, told, one) for one in past.raised)
    return done


def keep_worked_out(session: WriteSession, actor: Actor, done: WorkedOut) -> None:
    """Store what was worked out, and mark the units as changed. Raises `Forbidden`."""
    require_whole(actor)
    save_states(session, done.states)
    save_clocks(session, done.clocks)
    save_issued_units(session, done.units)
    add_transitions(session, done.transitions)
    keep_reminders(session, done.reminders)
    for ward_id, episode_ids in _by_ward(done.states).items():
        session.touch(ward_id, episode_ids)


def _by_ward(states: Iterable[EpisodeState]) -> dict[str, list[str]]:
    by_ward: dict[str, list[str]] = defaultdict(list)
    for state in states:
        by_ward[state.ward_id].append(state.episode_id)
    return by_ward


def _transition(episode_id: str, one: Noted) -> Transition:
    clock = one.crossing.clock
    return Transition(
        episode_id=episode_id,
        clock=clock.name,
        n=clock.n,
        from_state=one.crossing.from_state,
        to_state=one.crossing.to_state,
        at=one.crossing.at,
        noticed_at=one.noticed_at,
    )


def _raised(looked: Picture, told: Told, one: Raised) -> RaisedReminder:
    """The reminder as it stands now: whoever said "I have it" later is named on it."""
    request, reminder = looked.case.request, one.reminder
    clock = next(
        (c for c, _ in looked.clocks if (c.name, c.n) == (reminder.clock, reminder.n)), None
    )
    given = None if clock is None else acknowledgement_of(clock, looked.standing)
    return RaisedReminder(
        id=_name_of(request.id, one),
        ward_id=request.ward_id,
        episode_id=request.id,
        clock=reminder.clock,
        n=reminder.n,
        stage=reminder.stage,
        repeat=reminder.repeat,
        owed_at=reminder.owed_at,
        raised_at=one.raised_at,
        to=told.whom(one),
        acknowledged_at=None if given is None else given.at,
        acknowledged_by=None if given is None else given.staff_id,
    )


def _name_of(episode_id: str, one: Raised) -> str:
    """The same past gives the same names."""
    text = " ".join(map(str, (episode_id, *identity_of(one.reminder))))
    return blake2b(text.encode(), digest_size=8).hexdigest()
