"""What the audit trail holds: who did, saw or took away what, and when."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final

Plain = str | int | bool | None | list[str]


class AuditAct(StrEnum):
    """What somebody did. Facts about units are not among it: they stand in the log of events."""

    SIGNED_IN = "signed_in"
    SIGN_IN_FAILED = "sign_in_failed"
    SIGNED_OUT = "signed_out"
    SESSION_ENDED = "session_ended"
    LOCKED = "locked"
    UNLOCKED = "unlocked"
    PERSON_CHANGED = "person_changed"
    BADGE_RECORDED = "badge_recorded"
    BADGE_TAKEN_BACK = "badge_taken_back"
    PIN_SET = "pin_set"
    ACCOUNT_LINKED = "account_linked"
    LINK_UNDONE = "link_undone"
    PASSWORD_SET = "password_set"  # noqa: S105 - a word of the trail
    SECOND_FACTOR_SET = "second_factor_set"
    SECOND_FACTOR_TAKEN_AWAY = "second_factor_taken_away"
    RECOVERY_CODES_MADE = "recovery_codes_made"
    RECOVERY_CODE_USED = "recovery_code_used"
    VIEWED = "viewed"
    EXPORTED = "exported"
    WARD_ENTERED = "ward_entered"
    WARD_CHANGED = "ward_changed"
    CHANGE_NOTED = "change_noted"
    CHANGE_WITHDRAWN = "change_withdrawn"
    POLICY_IN_FORCE = "policy_in_force"
    STAFF_ENTERED = "staff_entered"
    STAFF_CHANGED = "staff_changed"
    ACCESS_CHANGED = "access_changed"
    SHIFT_ENTERED = "shift_entered"
    SHIFT_CHANGED = "shift_changed"
    SHIFT_REMOVED = "shift_removed"
    LIMITS_CHANGED = "limits_changed"
    TOKEN_MADE = "token_made"  # noqa: S105 - the word for an act
    TOKEN_REVOKED = "token_revoked"  # noqa: S105 - the word for an act
    WALL_LINK_MADE = "wall_link_made"
    WALL_LINK_REVOKED = "wall_link_revoked"
    WEBHOOK_MADE = "webhook_made"
    WEBHOOK_CHANGED = "webhook_changed"
    WEBHOOK_REVOKED = "webhook_revoked"
    VIEWS_LATE = "views_late"


class SubjectKind(StrEnum):
    """What an act was done to, or what was looked at."""

    PATIENT = "patient"
    PATIENTS = "patients"
    EPISODE = "episode"
    RECORD = "record"
    REACTION = "reaction"
    IDENTITY = "identity"
    ORDER = "order"
    ORDERS = "orders"
    BOARD = "board"
    REPLAY = "replay"
    SHEET = "sheet"
    OWN_LIST = "own_list"
    REMINDERS = "reminders"
    COVER = "cover"
    BREACHES = "breaches"
    ACCOUNTS = "accounts"
    ALARM_LOAD = "alarm_load"
    HISTORY = "history"
    PLAN = "plan"
    REVIEW = "review"
    LABEL = "label"
    AUDIT = "audit"
    SESSION = "session"
    STAFF = "staff"
    WARD = "ward"
    TOKEN = "token"  # noqa: S105 - the word for a thing
    WALL_LINK = "wall_link"
    WEBHOOK = "webhook"


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing by its kind and id; without an id all of its kind, on the ward that is named."""

    kind: SubjectKind
    id: str | None = None


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """One act as it is noted.

    `access_id` names the session or token that was used; it opens nothing. `detail` holds plain
    words, whole numbers and lists of words, and neither a name nor a value of a patient's.
    """

    at: datetime
    actor_id: str
    actor_name: str
    actor_role: str
    act: AuditAct
    access_id: str | None = None
    subject: Subject | None = None
    ward_id: str | None = None
    patient_id: str | None = None
    detail: Mapping[str, Plain] = field(default_factory=dict)


# Who tried to sign in and did not is nobody, whatever was typed.
NOBODY: Final = ("nobody", "Not signed in", "none")
