"""All tables, split by topic; importing this package fills the catalogue."""

from server.store.tables.access import HEARTBEAT, IDEMPOTENCY, SESSION, TOKEN, WALL_LINK
from server.store.tables.audit import AUDIT, AUDIT_NOTE
from server.store.tables.base import CATALOGUE
from server.store.tables.cover import COVER
from server.store.tables.derived import CLOCK_STATE, EPISODE_STATE, REMINDER, TRANSITION
from server.store.tables.facts import EPISODE, EVENT, ORDER
from server.store.tables.identity import IDENTITY_CHECK, IDENTITY_READING
from server.store.tables.people import (
    PATIENT,
    PATIENT_CHANGE,
    SHIFT,
    SHIFT_BREAK,
    STAFF,
    STAFF_WARD,
)
from server.store.tables.units import ISSUED_UNIT
from server.store.tables.wards import POLICY_VERSION, WARD, WARD_POLICY
from server.store.tables.webhooks import DELIVERY, WEBHOOK

__all__ = [
    "AUDIT",
    "AUDIT_NOTE",
    "CATALOGUE",
    "CLOCK_STATE",
    "COVER",
    "DELIVERY",
    "EPISODE",
    "EPISODE_STATE",
    "EVENT",
    "HEARTBEAT",
    "IDEMPOTENCY",
    "IDENTITY_CHECK",
    "IDENTITY_READING",
    "ISSUED_UNIT",
    "ORDER",
    "PATIENT",
    "PATIENT_CHANGE",
    "POLICY_VERSION",
    "REMINDER",
    "SESSION",
    "SHIFT",
    "SHIFT_BREAK",
    "STAFF",
    "STAFF_WARD",
    "TOKEN",
    "TRANSITION",
    "WALL_LINK",
    "WARD",
    "WARD_POLICY",
    "WEBHOOK",
]
