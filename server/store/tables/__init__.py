"""All tables, split by topic; importing this package fills the catalogue."""

from server.store.tables.access import HEARTBEAT, IDEMPOTENCY, SESSION, TOKEN, WALL_LINK
from server.store.tables.audit import AUDIT, AUDIT_NOTE
from server.store.tables.base import CATALOGUE
from server.store.tables.cover import COVER
from server.store.tables.derived import CLOCK_STATE, EPISODE_STATE, REMINDER, TRANSITION
from server.store.tables.facts import EPISODE, EVENT, ORDER
from server.store.tables.identity import IDENTITY_CHECK, IDENTITY_READING
from server.store.tables.invariants import INVARIANT, INVARIANT_BREAK, PROCESS
from server.store.tables.people import (
    PATIENT,
    PATIENT_CHANGE,
    SHIFT,
    SHIFT_BREAK,
    STAFF,
    STAFF_WARD,
)
from server.store.tables.planning import PLAN, PLAN_WATCH, SHIFT_WORK, TRAINING, WARD_RULES
from server.store.tables.review import WARD_CHANGE, WITHDRAWN_CHANGE
from server.store.tables.second_factors import (
    HALF_SIGN_IN,
    RECOVERY_CODE,
    SECOND_FACTOR,
    SECOND_FACTOR_BEGUN,
)
from server.store.tables.signing import BADGE, KNOWN_DEVICE, PIN, SIGN_IN_TRY, UNSENT
from server.store.tables.sso import SSO_BEGUN, SSO_LINK, SSO_SESSION
from server.store.tables.units import ISSUED_UNIT
from server.store.tables.upgrade import UPGRADE_WORK
from server.store.tables.wards import POLICY_VERSION, WARD, WARD_POLICY
from server.store.tables.webhooks import DELIVERY, WEBHOOK

__all__ = [
    "AUDIT",
    "AUDIT_NOTE",
    "BADGE",
    "CATALOGUE",
    "CLOCK_STATE",
    "COVER",
    "DELIVERY",
    "EPISODE",
    "EPISODE_STATE",
    "EVENT",
    "HALF_SIGN_IN",
    "HEARTBEAT",
    "IDEMPOTENCY",
    "IDENTITY_CHECK",
    "IDENTITY_READING",
    "INVARIANT",
    "INVARIANT_BREAK",
    "ISSUED_UNIT",
    "KNOWN_DEVICE",
    "ORDER",
    "PATIENT",
    "PATIENT_CHANGE",
    "PIN",
    "PLAN",
    "PLAN_WATCH",
    "POLICY_VERSION",
    "PROCESS",
    "RECOVERY_CODE",
    "REMINDER",
    "SECOND_FACTOR",
    "SECOND_FACTOR_BEGUN",
    "SESSION",
    "SHIFT",
    "SHIFT_BREAK",
    "SHIFT_WORK",
    "SIGN_IN_TRY",
    "SSO_BEGUN",
    "SSO_LINK",
    "SSO_SESSION",
    "STAFF",
    "STAFF_WARD",
    "TOKEN",
    "TRAINING",
    "TRANSITION",
    "UNSENT",
    "UPGRADE_WORK",
    "WALL_LINK",
    "WARD",
    "WARD_CHANGE",
    "WARD_POLICY",
    "WARD_RULES",
    "WEBHOOK",
    "WITHDRAWN_CHANGE",
]
