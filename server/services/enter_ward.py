"""Enter a ward, or change its settings and the policy it runs under."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain import limits
from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text
from server.domain.policy import Policy
from server.services.actor import Actor
from server.services.audit import note
from server.services.errors import NotFound
from server.services.join_ward import join_ward
from server.services.permissions import Act, require
from server.services.policies import policy_in_force, put_in_force
from server.store import wards as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import Ward

SETTINGS: Final = ("name", "timezone", "temperature_unit", "next_contact")


@dataclass(frozen=True, slots=True)
class WardDraft:
    """A ward as entered; an id that exists already changes that ward. `policy` is a name."""

    id: str | None
    name: str
    policy: str
    timezone: str
    temperature_unit: str = "C"
    next_contact: str | None = None


def enter_ward(
    session: WriteSession,
    actor: Actor,
    draft: WardDraft,
    policies: Mapping[str, Policy],
    *,
    now: datetime,
) -> Ward:
    """Enter or change a ward. A new policy judges what is issued from now on.

    Whoever enters a ward belongs to it from then on.

    Raises `Forbidden`, `Invalid`.
    """
    require(actor, Act.SET_UP)
    _require_sound(draft, policies)
    present = stored.read_ward(session, draft.id) if draft.id is not None else None
    if present is not None:
        require(actor, Act.SET_UP, present.id)
    ward = Ward(
        id=draft.id or new_id(),
        name=draft.name.strip(),
        timezone=draft.timezone,
        recorded_at=now,
        temperature_unit=draft.temperature_unit,
        next_contact=draft.next_contact,
    )
    if present is None:
        stored.add_ward(session, ward)
    else:
        ward = replace(ward, recorded_at=present.recorded_at, checked_at=present.checked_at)
        stored.change_ward(session, ward)
    _note(session, actor, ward, present, now)
    put_in_force(session, ward.id, policies[draft.policy], by=actor, now=now)
    if present is None:
        join_ward(session, actor, ward.id, now=now)
    return replace(ward, revision=session.touch(ward.id))


def _note(
    session: WriteSession, actor: Actor, ward: Ward, present: Ward | None, now: datetime
) -> None:
    act, detail = AuditAct.WARD_ENTERED, {}
    if present is not None:
        changed = [name for name in SETTINGS if getattr(ward, name) != getattr(present, name)]
        if not changed:
            return
        act, detail = AuditAct.WARD_CHANGED, {"changed": changed}
    subject = Subject(SubjectKind.WARD, ward.id)
    note(session, actor, act, subject, now=now, ward_id=ward.id, detail=detail)


def list_wards(session: ReadSession, actor: Actor) -> tuple[Ward, ...]:
    """Answer the actor's wards by name."""
    require(actor, Act.READ)
    return stored.list_wards(session, actor.wards)


def read_ward(session: ReadSession, actor: Actor, ward_id: str) -> Ward:
    """Answer one ward. Raises `NotFound`, `Forbidden`."""
    ward = stored.read_ward(session, ward_id)
    if ward is None:
        raise NotFound("the ward")
    require(actor, Act.READ, ward_id)
    return ward


def read_ward_policy(session: ReadSession, ward_id: str, *, now: datetime) -> Policy:
    """Answer the policy a ward runs under. Raises `NotFound`."""
    policy = policy_in_force(session, ward_id, now)
    if policy is None:
        raise NotFound("the ward's policy")
    return policy


def _require_sound(draft: WardDraft, policies: Mapping[str, Policy]) -> None:
    require_text("name", draft.name, limits.SHORT_TEXT)
    require_text("next_contact", draft.next_contact, limits.SHORT_TEXT)
    if draft.policy not in policies:
        raise Invalid("policy", f"is unknown; expected one of {', '.join(sorted(policies))}")
    if draft.temperature_unit not in ("C", "F"):
        raise Invalid("temperature_unit", "is unknown; expected C or F")
    try:
        ZoneInfo(draft.timezone)
    except (ValueError, OSError, KeyError):
        message = "is no time zone; expected an IANA name such as Pacific/Auckland"
        raise Invalid("timezone", message) from None
