"""Enter a member of staff, or change their role, wards, sign-in name and password."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain import limits
from server.domain.audit import AuditAct, Plain, Subject, SubjectKind
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text
from server.domain.words import Role
from server.services.actor import Actor
from server.services.audit import note
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.passwords import hash_password, require_password
from server.services.permissions import Act, require
from server.store import staff as stored
from server.store.badges import forget_badge, forget_pin
from server.store.ids import new_id
from server.store.second_factors import forget_second_factor
from server.store.sessions import ReadSession, WriteSession
from server.store.sign_ins import close_sessions_of
from server.store.sso import forget_link
from server.store.staff import Staff
from server.store.wards import list_wards

KEPT: Final = ("name", "role", "wards", "sign_in_name", "active")


@dataclass(frozen=True, slots=True)
class StaffDraft:
    """A member of staff as entered; an id that exists already changes them.

    `password` None leaves the password as it is. `wards` None means all wards.
    """

    id: str | None
    name: str
    role: Role
    wards: frozenset[str] | None
    sign_in_name: str | None = None
    password: str | None = None
    active: bool = True


def enter_staff(session: WriteSession, actor: Actor, draft: StaffDraft, *, now: datetime) -> Staff:
    """Enter or change a member of staff. Raises `Forbidden`, `Invalid`, `Conflict`.

    Who sets up some wards alone opens no other to anybody, and changes nobody of another.
    """
    require(actor, Act.SET_UP)
    require_own_wards(actor, draft.wards)
    _require_sound(session, draft)
    staff = Staff(
        id=draft.id or new_id(),
        name=draft.name.strip(),
        role=draft.role,
        wards=draft.wards,
        sign_in_name=draft.sign_in_name,
        active=draft.active,
    )
    present = stored.read_staff(session, staff.id)
    if present is not None:
        require_own_wards(actor, present.wards)
    stored.save_staff(session, staff)
    if draft.password is not None:
        stored.set_password_hash(session, staff.id, hash_password(draft.password))
    if draft.password is not None or not draft.active:
        forget_pin(session, staff.id)
    if not draft.active:
        forget_badge(session, staff.id)
        forget_second_factor(session, staff.id)
        forget_link(session, staff.id)
    if draft.password is not None or present is None or _opens_otherwise(staff, present):
        close_sessions_of(session, staff.id)
    act, detail = _told(staff, present, sets_password=draft.password is not None)
    note(session, actor, act, Subject(SubjectKind.STAFF, staff.id), now=now, detail=detail)
    for ward in list_wards(session):
        session.touch(ward.id)  # a name can stand on any board, also of a ward they have left
    return staff


def _opens_otherwise(staff: Staff, present: Staff) -> bool:
    """Whether somebody may now open other things than before, or nothing any more."""
    now, before = ((one.role, one.wards, one.active) for one in (staff, present))
    return now != before


def list_staff(session: ReadSession, actor: Actor, ward_id: str | None = None) -> tuple[Staff, ...]:
    """Answer the staff of a ward, or of all the actor's wards, by name."""
    require(actor, Act.READ, ward_id)
    wards = actor.wards if ward_id is None else frozenset({ward_id})
    return stored.list_staff(session, wards)


def read_staff(session: ReadSession, actor: Actor, staff_id: str) -> Staff:
    """Answer one member of staff who shares a ward with the actor.

    Raises `NotFound`, `Forbidden`.
    """
    require(actor, Act.READ)
    staff = stored.read_staff(session, staff_id)
    if staff is None:
        raise NotFound("the member of staff")
    if actor.wards is not None and staff.wards is not None and not actor.wards & staff.wards:
        raise Forbidden("this is not one of your wards")
    return staff


def require_own_wards(actor: Actor, wards: frozenset[str] | None) -> None:
    """Raise `Forbidden` unless all of these wards are the actor's; None: every ward."""
    if not actor.is_on_all(wards):
        raise Forbidden("not all of these wards are yours")


def require_all_of(session: ReadSession, actor: Actor, staff_id: str) -> None:
    """Raise `Forbidden` or `NotFound` unless the actor sets up all wards of this person.

    So they may give or take a way in, which opens all that the person may.
    """
    require(actor, Act.SET_UP)
    require_own_wards(actor, read_staff(session, actor, staff_id).wards)


def _told(
    staff: Staff, present: Staff | None, *, sets_password: bool
) -> tuple[AuditAct, dict[str, Plain]]:
    """What the audit trail says of it: the names of what changed, and the way in before and now."""
    access: dict[str, Plain] = {"role": staff.role.value, "wards": _listed(staff.wards)}
    if present is None:
        return AuditAct.STAFF_ENTERED, access
    changed = [name for name in KEPT if getattr(staff, name) != getattr(present, name)]
    told: dict[str, Plain] = {"changed": changed + ["password"] * sets_password}
    if (staff.role, staff.wards) == (present.role, present.wards):
        return AuditAct.STAFF_CHANGED, told
    was: dict[str, Plain] = {"role_was": present.role.value, "wards_were": _listed(present.wards)}
    return AuditAct.ACCESS_CHANGED, told | access | was


def _listed(wards: frozenset[str] | None) -> list[str] | None:
    return None if wards is None else sorted(wards)


def _require_sound(session: ReadSession, draft: StaffDraft) -> None:
    require_text("name", draft.name, limits.SHORT_TEXT)
    require_text("sign_in_name", draft.sign_in_name, limits.SHORT_TEXT)
    if draft.role is Role.INTERFACE:
        raise Invalid("role", "interface is for programs; make a token for it")
    known = {ward.id for ward in list_wards(session, draft.wards or ())}
    for ward_id in sorted(draft.wards or ()):
        if ward_id not in known:
            raise Invalid("wards", f"there is no ward {ward_id}")
    if draft.password is not None:
        require_password("password", draft.password, draft.name, draft.sign_in_name or "")
    _require_free_name(session, draft)


def _require_free_name(session: ReadSession, draft: StaffDraft) -> None:
    if draft.sign_in_name is None:
        return
    taken = stored.staff_named(session, draft.sign_in_name)
    if taken is not None and taken[0].id != draft.id:
        raise Conflict("that sign-in name is taken")
