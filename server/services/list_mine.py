"""What one nurse has to do: the units they answer for, on all their wards."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from server.domain.cover import Cover, covered_by, who_answers
from server.domain.picture import Picture, picture
from server.services.actor import Actor
from server.services.cases import load_cases
from server.services.enter_shift import LONGEST
from server.services.errors import Forbidden, NotFound
from server.services.list_called import reminders_of_others, still_calling
from server.services.nurses import NURSES
from server.services.permissions import Act, require
from server.services.read_board import is_on_board
from server.store.covers import covers_between
from server.store.nurse_units import units_of_nurses
from server.store.reminders import RaisedReminder
from server.store.sessions import ReadSession
from server.store.staff import Staff, read_staff, staff_names
from server.store.wards import Ward, list_wards


@dataclass(frozen=True, slots=True)
class MyUnit:
    """One unit. `covering_for` is whose it is where a colleague's is covered, else None.

    `calls` are the reminders by which a unit calls the nurse that another has, or nobody.
    """

    picture: Picture
    covering_for: str | None
    calls: tuple[RaisedReminder, ...] = ()


@dataclass(frozen=True, slots=True)
class Mine:
    """A nurse's units at `at`, in order of urgency, and those of others that call the nurse.

    `covers` are those in force or to come that the nurse gives or has; `covered_on` are the
    wards on which a colleague answers for the nurse's own units now: those units are listed, and
    remind the colleague. `names` are those of everybody concerned, `wards` are by id.
    """

    at: datetime
    nurse: Staff
    wards: Mapping[str, Ward]
    units: tuple[MyUnit, ...]
    called: tuple[MyUnit, ...]
    covers: tuple[Cover, ...]
    covered_on: Mapping[str, str]
    names: Mapping[str, str]


def list_mine(
    session: ReadSession, actor: Actor, nurse_id: str | None = None, *, now: datetime
) -> Mine:
    """Answer the list of the actor, or for whoever is in charge of another nurse's.

    Of another nurse only what lies on the actor's own wards is answered. Raises `Forbidden`,
    `NotFound`.
    """
    nurse = _nurse(session, actor, nurse_id)
    wards = {one.id: one for one in list_wards(session, nurse.wards) if actor.is_on(one.id)}
    if nurse.id != actor.staff_id and not wards:
        raise Forbidden("this is not one of your wards")
    covers = covers_between(session, wards, now, now + LONGEST)
    by_ward = {i: [one for one in covers if one.ward_id == i] for i in wards}
    answering = {i: who_answers(nurse.id, theirs, now) for i, theirs in by_ward.items()}
    units, called = _units(session, nurse, by_ward, now)
    own = tuple(one for one in covers if nurse.id in (one.covering_id, one.covered_id))
    return Mine(
        at=now,
        nurse=nurse,
        wards=wards,
        units=units,
        called=called,
        covers=own,
        covered_on={i: who for i, who in answering.items() if who != nurse.id},
        names=staff_names(
            session, {nurse.id, *answering.values(), *_people(own, (*units, *called))}
        ),
    )


def _nurse(session: ReadSession, actor: Actor, nurse_id: str | None) -> Staff:
    require(actor, Act.HAND_OVER)
    wanted = nurse_id or actor.staff_id
    if wanted is None:
        raise Forbidden("a program has no list of its own")
    if wanted != actor.staff_id:
        require(actor, Act.OVERSEE)
    nurse = read_staff(session, wanted)
    if nurse is None or nurse.role not in NURSES:
        raise NotFound("the nurse")
    return nurse


def _units(
    session: ReadSession, nurse: Staff, covers: Mapping[str, list[Cover]], now: datetime
) -> tuple[tuple[MyUnit, ...], tuple[MyUnit, ...]]:
    """The nurse's own units with those of whom the nurse covers, and others that call the nurse.

    Each ward for itself.
    """
    whose = {i: {nurse.id, *covered_by(nurse.id, theirs, now)} for i, theirs in covers.items()}
    everybody = {one for theirs in whose.values() for one in theirs}
    ids = units_of_nurses(session, covers, everybody, now)
    raised = reminders_of_others(session, nurse, covers, ids, now)
    cases = load_cases(session, (*ids, *raised), now=now)
    looked = sorted((picture(case, now) for case in cases.values()), key=lambda one: one.sort_key)
    mine = [one for one in looked if one.episode.nurse_id in whose[one.case.request.ward_id]]
    calling = still_calling(session, nurse, looked, raised, now)
    return (
        tuple(_own(one, nurse.id) for one in mine if is_on_board(one, now)),
        tuple(MyUnit(one, None, calls) for one in looked if (calls := _calls(one, calling))),
    )


def _own(looked: Picture, nurse_id: str) -> MyUnit:
    whose = looked.episode.nurse_id
    return MyUnit(looked, None if whose == nurse_id else whose)


def _calls(
    looked: Picture, calling: Mapping[str, tuple[RaisedReminder, ...]]
) -> tuple[RaisedReminder, ...]:
    return calling.get(looked.case.request.id, ())


def _people(covers: tuple[Cover, ...], units: tuple[MyUnit, ...]) -> set[str]:
    """Everybody who is named on the list beside the nurse."""
    people = {who for one in covers for who in (one.covering_id, one.covered_id)}
    people |= {one.covering_for for one in units if one.covering_for is not None}
    people |= {one.picture.episode.nurse_id for one in units if one.picture.episode.nurse_id}
    return people | {
        said.staff_id for one in units for said in one.picture.episode.acknowledgements
    }
