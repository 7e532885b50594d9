"""The second factor of whoever signs in by password: set up, shown, renewed, taken away.

A badge and its PIN are two factors as they are. Everybody may have a second one beside their
password, and a site may ask it of those who oversee and set up wards, or of everybody.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_staff import require_all_of
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.one_time_codes import (
    RECOVERY_CODES,
    new_code_secret,
    new_recovery_code,
    step_of,
)
from server.services.passwords import hash_secret
from server.store import second_factors as stored
from server.store.half_sign_ins import forget_halves_of
from server.store.second_factors import BegunFactor, SecondFactor
from server.store.sessions import ReadSession, WriteSession

BEGUN_LASTS: Final = timedelta(minutes=15)
"""What was begun has to be finished within this; then it is begun anew."""

NOT_FITTING: Final = "does not fit; expected the six digits that the app shows now"
NOT_BEGUN: Final = "nothing was begun in the last quarter of an hour; begin again"
ASKED_FOR: Final = "this board asks for it; another app or device can be set up in its place"


@dataclass(frozen=True, slots=True)
class FactorRead:
    """How somebody's second factor stands: since when, and how many recovery codes are left.

    `begun` is the secret that an app is being set up with, empty where none is.
    """

    set_at: datetime | None
    codes_left: int
    begun: str = field(repr=False)


def read_factor(session: ReadSession, staff_id: str, *, now: datetime) -> FactorRead:
    """Answer how somebody's second factor stands. The caller has asked who may know it."""
    factor = stored.read_second_factor(session, staff_id)
    begun = _begun(session, staff_id, now)
    return FactorRead(
        None if factor is None else factor.set_at,
        stored.count_recovery_codes(session, staff_id),
        "" if begun is None else begun.secret,
    )


def require_may_have(actor: Actor) -> None:
    """Raise `Forbidden` unless it is a person, who could sign in by a password."""
    if actor.staff_id is None:
        raise Forbidden("a second factor is for people")


def begin_second_factor(session: WriteSession, actor: Actor, *, now: datetime) -> None:
    """Make the secret of a new second factor; the present one, if any, stays until it is confirmed.

    Sign-ins that wait for a code end: one of them could look on. The caller has asked for the
    password just now. Raises `Forbidden`.
    """
    require_may_have(actor)
    forget_halves_of(session, actor.id)
    stored.save_begun(session, BegunFactor(actor.id, new_code_secret(), now))


def confirm_second_factor(
    session: WriteSession, actor: Actor, code: str, *, now: datetime
) -> tuple[str, ...]:
    """Have what was begun be the second factor, by its first code; answer the recovery codes.

    They are shown this once. Raises `Conflict` where nothing was begun, `Invalid("code", …)`.
    """
    begun = _begun(session, actor.id, now)
    if begun is None:
        raise Conflict(NOT_BEGUN)
    step = step_of(begun.secret, code, now)
    if step is None:
        raise Invalid("code", NOT_FITTING)
    stored.save_second_factor(session, SecondFactor(actor.id, begun.secret, now, step))
    note(session, actor, AuditAct.SECOND_FACTOR_SET, now=now)
    return _new_codes(session, actor.id)


def renew_recovery_codes(session: WriteSession, actor: Actor, *, now: datetime) -> tuple[str, ...]:
    """Make new recovery codes in place of those before. The caller has asked for the password.

    Raises `Conflict` without a second factor.
    """
    if stored.read_second_factor(session, actor.id) is None:
        raise Conflict("there is no second factor")
    note(session, actor, AuditAct.RECOVERY_CODES_MADE, now=now)
    return _new_codes(session, actor.id)


def turn_off_second_factor(
    session: WriteSession, actor: Actor, *, required: bool, now: datetime
) -> None:
    """Have the password alone open again what it opened. The caller has asked for the password.

    `required`: the site asks it of them. Raises `Conflict` then, and where there is none.
    """
    if required:
        raise Conflict(ASKED_FOR)
    if not stored.forget_second_factor(session, actor.id):
        raise Conflict("there is no second factor")
    note(session, actor, AuditAct.SECOND_FACTOR_TAKEN_AWAY, _whose(actor.id), now=now)


def take_second_factor_away(
    session: WriteSession, actor: Actor, staff_id: str, *, now: datetime
) -> None:
    """Take the second factor of somebody away who has lost it.

    Raises `Forbidden`, also where not all of their wards are the actor's; `NotFound`.
    """
    require_all_of(session, actor, staff_id)
    if not stored.forget_second_factor(session, staff_id):
        raise NotFound("the second factor")
    note(session, actor, AuditAct.SECOND_FACTOR_TAKEN_AWAY, _whose(staff_id), now=now)


def _begun(session: ReadSession, staff_id: str, now: datetime) -> BegunFactor | None:
    begun = stored.read_begun(session, staff_id)
    return None if begun is None or now - begun.begun_at >= BEGUN_LASTS else begun


def _new_codes(session: WriteSession, staff_id: str) -> tuple[str, ...]:
    codes = tuple(new_recovery_code() for _ in range(RECOVERY_CODES))
    stored.save_recovery_codes(session, staff_id, map(hash_secret, codes))
    return codes


def _whose(staff_id: str) -> Subject:
    return Subject(SubjectKind.STAFF, staff_id)
