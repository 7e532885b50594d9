"""What one nurse has to do: the units they answer for, on all their wards."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from server.domain.cover import Cover, covered_by, who_answers
from server.domain.picture import Picture
from server.domain.request import Request
from server.services.actor import Actor
from server.services.enter_shift import LONGEST
from server.services.errors import Forbidden, NotFound
from server.services.list_called import reminders_of_others, still_calling
from server.services.nurses import NURSES
from server.services.permissions import Act, require
from server.services.read_board import is_on_board
from server.services.sound_cases import sound_pictures
from server.store.covers import covers_between
from server.store.nurse_units import units_of_nurses
from server.store.reminders import RaisedReminder
from server.store.requests import read_requests
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
    remind the colleague. `names` are those of everybody concerned, `wards` are by id. `lost` are
    units of the nurse, or that may call, whose facts cannot be read.
    """

    at: datetime
    nurse: Staff
    wards: Mapping[str, Ward]
    units: tuple[MyUnit, ...]
    called: tuple[MyUnit, ...]
    covers: tuple[Cover, ...]
    covered_on: Mapping[str, str]
    names: Mapping[str, str]
    lost: tuple[Request, ...] = ()


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
    whose = whose_units(nurse, wards, covers, now)
    ids = units_of_nurses(session, wards, {one for theirs in whose.values() for one in theirs}, now)
    raised = reminders_of_others(session, nurse, wards, ids, now)
    looked = sound_pictures(session, (*ids, *raised), now=now)
    lost = read_requests(session, [one for one in (*ids, *raised) if one not in looked])
    mine = mine_of(session, nurse, wards, covers, looked.values(), raised, now=now)
    return replace(mine, lost=tuple(lost.values()))


def whose_units(
    nurse: Staff, ward_ids: Iterable[str], covers: Iterable[Cover], at: datetime
) -> dict[str, set[str]]:
    """Answer whose units a nurse answers for, each ward for itself, by its id."""
    listed = tuple(covers)
    return {
        ward_id: {nurse.id, *covered_by(nurse.id, _of_ward(ward_id, listed), at)}
        for ward_id in ward_ids
    }


def mine_of(
    session: ReadSession,
    nurse: Staff,
    wards: Mapping[str, Ward],
    covers: Sequence[Cover],
    looked: Iterable[Picture],
    raised: Mapping[str, Iterable[RaisedReminder]],
    *,
    now: datetime,
) -> Mine:
    """Put the list of a nurse together from units of these wards, looked at from `now`.

    `raised` is what may call the nurse beside the nurse's own units, by episode id.
    """
    whose = whose_units(nurse, wards, covers, now)
    ordered = sorted(looked, key=lambda one: one.sort_key)
    mine = [one for one in ordered if one.episode.nurse_id in whose[one.case.request.ward_id]]
    calling = still_calling(session, nurse, ordered, raised, now)
    units = tuple(_own(one, nurse.id) for one in mine if is_on_board(one, now))
    called = tuple(MyUnit(one, None, calls) for one in ordered if (calls := _calls(one, calling)))
    own = tuple(one for one in covers if nurse.id in (one.covering_id, one.covered_id))
    answering = {i: who_answers(nurse.id, _of_ward(i, covers), now) for i in wards}
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


def _of_ward(ward_id: str, covers: Iterable[Cover]) -> list[Cover]:
    return [one for one in covers if one.ward_id == ward_id]


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
