"""The audit trail in plain words: what was done, to what, and what changed."""

import json
from collections.abc import Callable, Mapping
from typing import Any, Final

from server.domain.audit import AuditAct, SubjectKind
from server.domain.audit_chain import Link
from server.domain.words import Role
from server.pages.event_forms import FORMS
from server.pages.ward_setting import ROLE
from server.services.read_audit import TrailRow
from server.store.audit_search import Fact

ACT: Final[Mapping[AuditAct, str]] = {
    AuditAct.SIGNED_IN: "signed in",
    AuditAct.SIGN_IN_FAILED: "could not sign in",
    AuditAct.SIGNED_OUT: "signed out",
    AuditAct.SESSION_ENDED: "ended sign-ins",
    AuditAct.LOCKED: "screen locked",
    AuditAct.UNLOCKED: "screen unlocked",
    AuditAct.PERSON_CHANGED: "changed person",
    AuditAct.BADGE_RECORDED: "recorded a badge",
    AuditAct.BADGE_TAKEN_BACK: "took a badge back",
    AuditAct.PIN_SET: "set a PIN",
    AuditAct.ACCOUNT_LINKED: "linked an account of single sign-on",
    AuditAct.LINK_UNDONE: "undid a link of single sign-on",
    AuditAct.PASSWORD_SET: "changed their own password",
    AuditAct.SECOND_FACTOR_SET: "set a second factor",
    AuditAct.SECOND_FACTOR_TAKEN_AWAY: "took a second factor away",
    AuditAct.RECOVERY_CODES_MADE: "made recovery codes",
    AuditAct.RECOVERY_CODE_USED: "signed in by a recovery code",
    AuditAct.VIEWED: "looked at",
    AuditAct.EXPORTED: "took away",
    AuditAct.WARD_ENTERED: "entered a ward",
    AuditAct.WARD_CHANGED: "changed a ward",
    AuditAct.CHANGE_NOTED: "noted what a ward changed",
    AuditAct.CHANGE_WITHDRAWN: "withdrew what a ward changed",
    AuditAct.POLICY_IN_FORCE: "put a policy in force",
    AuditAct.STAFF_ENTERED: "entered a person",
    AuditAct.STAFF_CHANGED: "changed a person",
    AuditAct.ACCESS_CHANGED: "changed role or wards",
    AuditAct.SHIFT_ENTERED: "entered a shift",
    AuditAct.SHIFT_CHANGED: "changed a shift",
    AuditAct.SHIFT_REMOVED: "took a shift off",
    AuditAct.LIMITS_CHANGED: "changed what a ward allows",
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
    SubjectKind.PATIENT: "a patient",
    SubjectKind.PATIENTS: "the list of patients",
    SubjectKind.EPISODE: "a unit",
    SubjectKind.RECORD: "the record of a unit",
    SubjectKind.REACTION: "a suspected reaction",
    SubjectKind.IDENTITY: "an identity check",
    SubjectKind.ORDER: "an order",
    SubjectKind.ORDERS: "the list of orders",
    SubjectKind.BOARD: "the board",
    SubjectKind.REPLAY: "a ward of the past",
    SubjectKind.SHEET: "the paper sheet of a ward",
    SubjectKind.OWN_LIST: "a nurse’s list",
    SubjectKind.REMINDERS: "the reminders",
    SubjectKind.COVER: "the cover",
    SubjectKind.BREACHES: "the breaches",
    SubjectKind.ACCOUNTS: "what became of units",
    SubjectKind.ALARM_LOAD: "the load of reminders",
    SubjectKind.HISTORY: "history files",
    SubjectKind.PLAN: "a plan",
    SubjectKind.REVIEW: "the review",
    SubjectKind.LABEL: "a label",
    SubjectKind.AUDIT: "the audit trail",
    SubjectKind.SESSION: "a sign-in",
    SubjectKind.STAFF: "a person",
    SubjectKind.WARD: "a ward",
    SubjectKind.TOKEN: "a token",
    SubjectKind.WALL_LINK: "a wall link",
    SubjectKind.WEBHOOK: "a webhook",
}

# Of other acts the words say what they were done to.
_ON_SOMETHING: Final = frozenset({AuditAct.VIEWED.value, AuditAct.EXPORTED.value})
# By text: a row that somebody altered is shown as it stands.
_ACTS: Final[Mapping[str, str]] = {act.value: words for act, words in ACT.items()}
_SUBJECTS: Final[Mapping[str, str]] = {kind.value: words for kind, words in SUBJECT.items()}
_NOBODY_KNOWN: Final = "nobody of that name"


def act_words(row: TrailRow, staff: Mapping[str, str]) -> str:
    """Answer what was done, and to what: `looked at the board`, `entered a person: Ann Lee`."""
    if isinstance(row, Fact):
        return f"recorded: {FORMS[row.kind].word.lower()}"
    words = _ACTS.get(row.act, row.act)
    if row.subject_kind == SubjectKind.STAFF.value:
        return f"{words}: {staff.get(row.subject_id or '', _NOBODY_KNOWN)}"
    if row.act in _ON_SOMETHING and row.subject_kind is not None:
        return f"{words} {_SUBJECTS.get(row.subject_kind, row.subject_kind)}"
    return words


def role_words(role: str) -> str:
    """Answer the role somebody had, empty for nobody."""
    return ROLE[Role(role)] if role in Role.__members__.values() else ""


def detail_words(link: Link, wards: Mapping[str, str]) -> str:
    """Answer what changed, from what to what: `role: charge nurse (was bedside nurse)`."""
    detail = _read(link.detail)
    if detail is None:
        return link.detail
    said = [
        _changed(detail.get("changed", [])),
        _from_to(detail, "role", "role_was", role_words),
        _from_to(detail, "wards", "wards_were", lambda ids: _ward_words(ids, wards)),
        *(_from_to(detail, name, f"{name}_was", _plainly) for name in detail if _is_plain(name)),
    ]
    return "; ".join(words for words in said if words)


def _read(detail: str) -> dict[str, Any] | None:
    """What a row says further, None for one that says nothing that can be read."""
    try:
        read = json.loads(detail)
    except ValueError:
        return None
    return read if isinstance(read, dict) else None


def _changed(names: list[str]) -> str:
    return f"changed: {', '.join(_FIELD.get(one, one) for one in names)}" if names else ""


def _from_to(detail: Mapping[str, Any], name: str, was: str, say: Callable[[Any], str]) -> str:
    if name not in detail:
        return ""
    now = f"{_PLAIN.get(name, name)}: {say(detail[name])}"
    is_new = was in detail and detail[was] != detail[name]
    return f"{now} (was {say(detail[was])})" if is_new else now


def _is_plain(name: str) -> bool:
    return name not in _TOLD and not name.endswith("_was")


def _plainly(told: Any) -> str:
    return (", ".join(told) or "none") if isinstance(told, list) else f"{told}"


def _ward_words(ids: list[str] | None, wards: Mapping[str, str]) -> str:
    return "all" if ids is None else ", ".join(wards.get(one, one) for one in ids) or "none"


_FIELD: Final = {
    "sign_in_name": "name to sign in with",
    "active": "works here",
    "timezone": "time zone",
    "temperature_unit": "temperatures",
    "next_contact": "next contact",
    "most_starts": "units starting at once",
    "issues_per_quarter": "units from the blood bank in a quarter of an hour",
    "collected_by": "who collects",
    "porters": "porters at once",
    "night_rule": "routine units at night",
    "use_learnt": "whether plans count with its own minutes",
}
_TOLD: Final = frozenset({"changed", "role", "wards", "wards_were"})
_PLAIN: Final = {
    "views": "looks",
    "lost": "never noted",
    "sessions": "sign-ins",
    "codes_left": "codes left",
    "starts_at": "begins",
    "ends_at": "ends",
    "identity": "patient identity",
    "way": "by",
}
