"""Have whoever entered a ward belong to it: otherwise they could never see what they entered."""

from dataclasses import replace
from datetime import datetime

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
from server.store import staff as people
from server.store import tokens
from server.store.sessions import WriteSession


def join_ward(session: WriteSession, actor: Actor, ward_id: str, *, now: datetime) -> None:
    """Add a ward that was entered just now to those of whoever entered it.

    Nothing changes for somebody of all wards.
    """
    if actor.wards is None:
        return
    joined = _person_joins if actor.staff_id is not None else _program_joins
    subject = joined(session, actor.id, ward_id)
    if subject is not None:
        detail = {"wards": sorted(actor.wards | {ward_id}), "wards_were": sorted(actor.wards)}
        note(session, actor, AuditAct.ACCESS_CHANGED, subject, now=now, detail=detail)


def _person_joins(session: WriteSession, staff_id: str, ward_id: str) -> Subject | None:
    staff = people.read_staff(session, staff_id)
    if staff is None or staff.wards is None:
        return None
    people.save_staff(session, replace(staff, wards=staff.wards | {ward_id}))
    return Subject(SubjectKind.STAFF, staff_id)


def _program_joins(session: WriteSession, token_id: str, ward_id: str) -> Subject | None:
    token = tokens.read_token(session, token_id)
    if token is None or token.wards is None:
        return None
    tokens.set_token_wards(session, token_id, token.wards | {ward_id})
    return Subject(SubjectKind.TOKEN, token_id)
