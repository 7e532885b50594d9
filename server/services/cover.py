"""Cover for a nurse: from now on, or from an instant ahead, a colleague answers for the units."""

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.cover import Cover, closes_circle, next_absence
from server.domain.errors import Invalid
from server.domain.wording import wall_time
from server.services.actor import Actor
from server.services.enter_shift import LONGEST
from server.services.errors import Conflict, NotFound
from server.services.nurses import nurse_of_ward
from server.services.permissions import Act, require
from server.store import covers as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import staff_names
from server.store.wards import Ward, read_ward


@dataclass(frozen=True, slots=True)
class CoverDraft:
    """A cover as asked for.

    Without instants it is for the break of the covered nurse that is on or comes next. One that
    is to begin in the past begins now. `replaces` is the id of a cover that gives way to it.
    """

    ward_id: str
    covering_id: str
    covered_id: str
    from_at: datetime | None = None
    until_at: datetime | None = None
    replaces: str | None = None


def cover(session: WriteSession, actor: Actor, draft: CoverDraft, *, now: datetime) -> Cover:
    """Enter a cover. Raises `Forbidden`, `NotFound`, `Invalid`, `Conflict`."""
    _require_may(actor, draft.ward_id, draft.covering_id, draft.covered_id)
    ward = read_ward(session, draft.ward_id)
    if ward is None:
        raise NotFound("the ward")
    session.touch(ward.id)
    _require_two_of_the_ward(session, draft)
    from_at, until_at = _period(session, draft, now)
    new = Cover(
        id=new_id(),
        ward_id=ward.id,
        covering_id=draft.covering_id,
        covered_id=draft.covered_id,
        from_at=from_at,
        until_at=until_at,
        recorded_at=now,
        recorded_by=actor.id,
    )
    if draft.replaces is not None:
        _give_way(session, actor, draft.replaces, new)
    _require_free(session, ward, new)
    stored.add_cover(session, new)
    return new


def end_cover(session: WriteSession, actor: Actor, cover_id: str, *, now: datetime) -> Cover:
    """End a cover early, or take back one that is yet to begin.

    Raises `NotFound`, `Forbidden`, `Conflict` for one that is over.
    """
    present = stored.read_cover(session, cover_id)
    if present is None:
        raise NotFound("the cover")
    _require_may(actor, present.ward_id, present.covering_id, present.covered_id)
    session.touch(present.ward_id)
    if present.over_at <= now or present.ended_at is not None:
        raise Conflict("that cover is over already")
    stored.end_cover(session, cover_id, at=now, by=actor.id)
    return replace(present, ended_at=now, ended_by=actor.id)


def _require_may(actor: Actor, ward_id: str, *concerned: str) -> None:
    """A nurse covers or is covered; for two others only whoever is in charge may arrange it."""
    require(actor, Act.HAND_OVER, ward_id)
    if actor.staff_id not in concerned:
        require(actor, Act.OVERSEE, ward_id)


def _require_two_of_the_ward(session: ReadSession, draft: CoverDraft) -> None:
    if draft.covering_id == draft.covered_id:
        raise Invalid("covering_id", "is the nurse who is to be covered; expected a colleague")
    nurse_of_ward(session, "covered_id", draft.covered_id, draft.ward_id)
    nurse_of_ward(session, "covering_id", draft.covering_id, draft.ward_id)


def _period(session: ReadSession, draft: CoverDraft, now: datetime) -> tuple[datetime, datetime]:
    """The instants asked for; what is left open is taken from the plan of breaks."""
    after = max(draft.from_at or now, now)
    until_at = draft.until_at
    if draft.from_at is None or until_at is None:
        planned = stored.breaks_between(session, draft.ward_id, after, after + LONGEST)
        pause = next_absence(planned, draft.covered_id, after)
        if draft.from_at is None and until_at is None and pause is not None:
            after = max(after, pause.from_at)
        until_at = until_at or (None if pause is None else pause.until_at)
    if until_at is None:
        message = "is missing, and no break is planned; expected until when"
        raise Invalid("until_at", message)
    if until_at <= after:
        raise Invalid("until_at", "is not after the beginning; expected a later instant")
    if until_at - after > LONGEST:
        raise Invalid("until_at", "makes a cover of over 24 hours; expected at most 24")
    return after, until_at


def _give_way(session: WriteSession, actor: Actor, cover_id: str, new: Cover) -> None:
    """End the cover that is replaced where the new one begins."""
    old = stored.read_cover(session, cover_id)
    if old is None or (old.ward_id, old.covered_id) != (new.ward_id, new.covered_id):
        raise Invalid("replaces", "is no cover of this nurse; expected one on this ward")
    if old.over_at > new.from_at:
        stored.end_cover(session, cover_id, at=new.from_at, by=actor.id)


def _require_free(session: ReadSession, ward: Ward, new: Cover) -> None:
    meanwhile = stored.covers_between(session, [ward.id], new.from_at, new.until_at)
    present = next((one for one in meanwhile if one.covered_id == new.covered_id), None)
    if present is not None:
        zone = ZoneInfo(ward.timezone)
        names = staff_names(session, {present.covered_id, present.covering_id})
        raise Conflict(
            f"{names[new.covered_id]} is covered already: by {names[present.covering_id]} from "
            f"{wall_time(present.from_at, zone)} until {wall_time(present.over_at, zone)}; "
            "end that cover, or replace it"
        )
    if closes_circle(meanwhile, new):
        raise Conflict("the two would cover for each other, and nobody would be there")
