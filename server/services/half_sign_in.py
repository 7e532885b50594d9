"""Between a right password, or a provider's word, and the code: nobody is signed in yet."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from server.domain.audit import AuditAct
from server.services.audit import note
from server.services.one_time_codes import plain_recovery_code, step_of
from server.services.passwords import hash_secret, new_secret
from server.services.second_factor import begin_second_factor
from server.services.sign_in import actor_of
from server.store import half_sign_ins as stored
from server.store.second_factors import (
    count_recovery_codes,
    read_second_factor,
    use_recovery_code,
    use_step,
)
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import Staff, read_staff

HALF_LASTS: Final = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Half:
    """Whoever lacks only a code, and the provider's word for them, empty after a password."""

    staff: Staff
    id_token: str = ""


class Wanted(StrEnum):
    """What is wanted after a right password."""

    NOTHING = "nothing"
    CODE = "code"
    SET_UP = "set_up"


def wanted_after_password(session: ReadSession, staff: Staff, *, required: bool) -> Wanted:
    """Answer what is shown beside the password; `required`: the site asks it of this person."""
    if read_second_factor(session, staff.id) is not None:
        return Wanted.CODE
    return Wanted.SET_UP if required else Wanted.NOTHING


def begin_half(session: WriteSession, half: Half, wanted: Wanted, *, now: datetime) -> str:
    """Answer a secret by which nobody needs to be recognised again with the code.

    Where a second factor is still to be set up, that is begun as well.
    """
    stored.forget_halves(session, now - HALF_LASTS)
    if wanted is Wanted.SET_UP:
        begin_second_factor(session, actor_of(half.staff), now=now)
    secret = new_secret()
    kept = stored.StoredHalf(half.staff.id, half.id_token)
    stored.add_half(session, hash_secret(secret), kept, now)
    return secret


def read_half(session: ReadSession, secret: str, *, now: datetime) -> Half | None:
    """Answer who was recognised a moment ago, None for nobody."""
    kept = stored.read_half(session, hash_secret(secret), now - HALF_LASTS)
    staff = None if kept is None else read_staff(session, kept.staff_id)
    if kept is None or staff is None or not staff.active:
        return None
    return Half(staff, kept.id_token)


def end_half(session: WriteSession, secret: str) -> None:
    """The code was shown: the secret opens nothing more."""
    stored.forget_half(session, hash_secret(secret))


def use_code(session: WriteSession, staff: Staff, code: str, *, now: datetime) -> bool:
    """Use a code of the app, or a recovery code, up; False unless it is theirs and fresh.

    A code that was used, and every code of the app before it, opens nothing any more.
    """
    factor = read_second_factor(session, staff.id)
    step = None if factor is None else step_of(factor.secret, code, now)
    if step is not None:
        return use_step(session, staff.id, step)
    code_hash = hash_secret(plain_recovery_code(code))
    if not use_recovery_code(session, staff.id, code_hash, now):
        return False
    left = {"codes_left": count_recovery_codes(session, staff.id)}
    note(session, actor_of(staff), AuditAct.RECOVERY_CODE_USED, now=now, detail=left)
    return True
