"""The audit trail in plain words: what was done, to what, and what changed."""

import json
from collections.abc import Callable, Mapping
from typing import Any, Final

from server.domain.audit import AuditAct, SubjectKind
from server.domain.audit_chain import Link
from server.domain.words import Role
from server.pages.ward_setting import ROLE

ACT: Final[Mapping[AuditAct, str]] = {
    AuditAct.SIGNED_IN: "signed in",
    AuditAct.SIGN_IN_FAILED: "failed to sign in",
    AuditAct.SIGNED_OUT: "signed out",
    AuditAct.SESSION_ENDED: "ended a sign-in",
    AuditAct.LOCKED: "screen locked",
    AuditAct.UNLOCKED: "screen unlocked",
    AuditAct.PERSON_CHANGED: "changed person",
    AuditAct.BADGE_RECORDED: "recorded a badge",
    AuditAct.BADGE_TAKEN_BACK: "took a badge back",
    AuditAct.PIN_SET: "set a PIN",
    AuditAct.VIEWED: "looked at",
    AuditAct.EXPORTED: "took away",
    AuditAct.WARD_ENTERED: "entered a ward",
    AuditAct.WARD_CHANGED: "changed a ward",
    AuditAct.POLICY_IN_FORCE: "put a policy in force",
    AuditAct.STAFF_ENTERED: "entered a person",
    AuditAct.STAFF_CHANGED: "changed a person",
    AuditAct.ACCESS_CHANGED: "changed role or wards",
    AuditAct.TOKEN_MADE: "made a token",
    AuditAct.TOKEN_REVOKED: "took a token back",
    AuditAct.WALL_LINK_MADE: "made a wall link",
    AuditAct.WALL_LINK_REVOKED: "took a wall link back",
    AuditAct.WEBHOOK_MADE: "made a webhook",
    AuditAct.WEBHOOK_CHANGED: "changed a webhook",
    AuditAct.WEBHOOK_REVOKED: "took a webhook back",
    AuditAct.VIEWS_LATE: "noted looks late",
}

SUBJECT: Final[Mapping[SubjectKind, str]] = {
    SubjectKind.PATIENT: "patient",
    SubjectKind.PATIENTS: "list of patients",
    SubjectKind.EPISODE: "unit",
    SubjectKind.RECORD: "record of a unit",
    SubjectKind.REACTION: "suspected reaction",
    SubjectKind.IDENTITY: "identity check",
    SubjectKind.ORDER: "order",
    SubjectKind.ORDERS: "list of orders",
    SubjectKind.BOARD: "board",
    SubjectKind.OWN_LIST: "list of what a nurse owes",
    SubjectKind.REMINDERS: "reminders",
    SubjectKind.COVER: "cover",
    SubjectKind.BREACHES: "breaches",
    SubjectKind.HISTORY: "history files",
    SubjectKind.PLAN: "plan",
    SubjectKind.REVIEW: "review",
    SubjectKind.LABEL: "label",
    SubjectKind.AUDIT: "audit trail",
    SubjectKind.SESSION: "sign-in",
    SubjectKind.STAFF: "person",
    SubjectKind.WARD: "ward",
    SubjectKind.TOKEN: "token",
    SubjectKind.WALL_LINK: "wall link",
    SubjectKind.WEBHOOK: "webhook",
}

NOBODY_KNOWN: Final = "nobody of that name"


def act_words(link: Link) -> str:
    """Answer what was done."""
    return ACT[AuditAct(link.act)]


def subject_words(link: Link, staff: Mapping[str, str]) -> str:
    """Answer what it was done to; a member of staff by name."""
    if link.subject_kind is None:
        return ""
    kind = SubjectKind(link.subject_kind)
    if kind is not SubjectKind.STAFF:
        return SUBJECT[kind]
    return staff.get(link.subject_id or "", NOBODY_KNOWN)


def role_words(role: str) -> str:
    """Answer the role somebody had, empty for nobody."""
    return ROLE[Role(role)] if role in Role.__members__.values() else ""


def detail_words(link: Link, wards: Mapping[str, str]) -> str:
    """Answer what changed, from what to what: `role: charge nurse (was bedside nurse)`."""
    detail: dict[str, Any] = json.loads(link.detail)
    said = [
        _changed(detail.get("changed", [])),
        _from_to(detail, "role", "role_was", role_words),
        _from_to(detail, "wards", "wards_were", lambda ids: _ward_words(ids, wards)),
        *(f"{words}: {detail[name]}" for name, words in _PLAIN.items() if name in detail),
    ]
    return "; ".join(words for words in said if words)


def _changed(names: list[str]) -> str:
    return f"changed: {', '.join(_FIELD.get(one, one) for one in names)}" if names else ""


def _from_to(detail: Mapping[str, Any], name: str, was: str, say: Callable[[Any], str]) -> str:
    if name not in detail:
        return ""
    now = f"{name}: {say(detail[name])}"
    is_new = was in detail and detail[was] != detail[name]
    return f"{now} (was {say(detail[was])})" if is_new else now


def _ward_words(ids: list[str] | None, wards: Mapping[str, str]) -> str:
    return "all" if ids is None else ", ".join(wards.get(one, one) for one in ids) or "none"


_FIELD: Final = {
    "sign_in_name": "name to sign in with",
    "active": "works here",
    "timezone": "time zone",
    "temperature_unit": "temperatures",
    "next_contact": "next contact",
}
_PLAIN: Final = {
    "policy": "policy",
    "version": "version",
    "views": "looks",
    "lost": "never noted",
    "from": "from",
    "until": "until",
}
