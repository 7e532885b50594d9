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
from server.services.nurses import NURSES
from server.services.permissions import Act, require
from server.services.read_board import is_on_board
from server.store.covers import covers_between
from server.store.nurse_units import units_of_nurses
from server.store.sessions import ReadSession
from server.store.staff import Staff, read_staff, staff_names
from server.store.wards import Ward, list_wards


@dataclass(frozen=True, slots=True)
class MyUnit:
    """One unit. `covering_for` is whose it is where a colleague's is covered, else None."""

    picture: Picture
    covering_for: str | None


@dataclass(frozen=True, slots=True)
class Mine:
    """A nurse's units at `at`, in order of urgency.

    `covers` are those in force or to come that the nurse gives or has; `covered_on` are the
    wards on which a colleague answers for the nurse's own units now: those units are listed, and
    remind the colleague. `names` are those of everybody concerned, `wards` are by id.
    """

    at: datetime
    nurse: Staff
    wards: Mapping[str, Ward]
    units: tuple[MyUnit, ...]
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
    units = _units(session, nurse.id, by_ward, now)
    own = tuple(one for one in covers if nurse.id in (one.covering_id, one.covered_id))
    return Mine(
        at=now,
        nurse=nurse,
        wards=wards,
        units=units,
        covers=own,
        covered_on={i: who for i, who in answering.items() if who != nurse.id},
        names=staff_names(session, {nurse.id, *answering.values(), *_people(own, units)}),
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
    session: ReadSession, nurse_id: str, covers: Mapping[str, list[Cover]], now: datetime
) -> tuple[MyUnit, ...]:
    """The nurse's own units, and those of whom the nurse covers, on each ward for itself."""
    whose = {i: {nurse_id, *covered_by(nurse_id, theirs, now)} for i, theirs in covers.items()}
    everybody = {one for theirs in whose.values() for one in theirs}
    cases = load_cases(session, units_of_nurses(session, covers, everybody, now), now=now)
    looked = sorted((picture(case, now) for case in cases.values()), key=lambda one: one.sort_key)
    return tuple(
        MyUnit(one, None if one.episode.nurse_id == nurse_id else one.episode.nurse_id)
        for one in looked
        if one.episode.nurse_id in whose[one.case.request.ward_id] and is_on_board(one, now)
    )


def _people(covers: tuple[Cover, ...], units: tuple[MyUnit, ...]) -> set[str]:
    """Everybody who is named on the list beside the nurse."""
    people = {who for one in covers for who in (one.covering_id, one.covered_id)}
    people |= {one.covering_for for one in units if one.covering_for is not None}
    return people | {
        said.staff_id for one in units for said in one.picture.episode.acknowledgements
    }
