"""Second factors: what makes a person's codes, kept sealed, and codes for when it is lost."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Table, delete, func, insert, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import upsert
from server.store.tables import RECOVERY_CODE, SECOND_FACTOR, SECOND_FACTOR_BEGUN


@dataclass(frozen=True, slots=True)
class SecondFactor:
    """What makes somebody's codes; `secret` stays sealed where the board's key does not open it."""

    staff_id: str
    secret: str = field(repr=False)
    set_at: datetime
    last_step: int


@dataclass(frozen=True, slots=True)
class BegunFactor:
    """What is to make somebody's codes once they have shown a first one."""

    staff_id: str
    secret: str = field(repr=False)
    begun_at: datetime


def save_begun(session: WriteSession, begun: BegunFactor) -> None:
    """Keep what was begun, in place of what was begun before."""
    row = {
        "staff_id": begun.staff_id,
        "sealed": session.vault.seal(begun.secret, _about(begun.staff_id)),
        "begun_at": begun.begun_at,
    }
    session.run(upsert(session.engine_name, SECOND_FACTOR_BEGUN.name), row)


def read_begun(session: ReadSession, staff_id: str) -> BegunFactor | None:
    """What somebody has begun, None if nothing."""
    begun = SECOND_FACTOR_BEGUN
    row = session.row(select(begun).where(begun.c.staff_id == staff_id))
    if row is None:
        return None
    return BegunFactor(staff_id, session.vault.open(row.sealed, _about(staff_id)), row.begun_at)


def forget_begun_factors(session: WriteSession, before: datetime) -> None:
    """Delete what nobody finished."""
    session.run(delete(SECOND_FACTOR_BEGUN).where(SECOND_FACTOR_BEGUN.c.begun_at < before))


def save_second_factor(session: WriteSession, factor: SecondFactor) -> None:
    """Have somebody's codes come from this from now on; what was begun is done."""
    row = {
        "staff_id": factor.staff_id,
        "sealed": session.vault.seal(factor.secret, _about(factor.staff_id)),
        "set_at": factor.set_at,
        "last_step": factor.last_step,
    }
    session.run(upsert(session.engine_name, SECOND_FACTOR.name), row)
    _forget(session, SECOND_FACTOR_BEGUN, factor.staff_id)


def read_second_factor(session: ReadSession, staff_id: str) -> SecondFactor | None:
    """What makes somebody's codes, None without a second factor."""
    factor = SECOND_FACTOR
    row = session.row(select(factor).where(factor.c.staff_id == staff_id))
    if row is None:
        return None
    secret = session.vault.open(row.sealed, _about(staff_id))
    return SecondFactor(staff_id, secret, row.set_at, row.last_step)


def use_step(session: WriteSession, staff_id: str, step: int) -> bool:
    """Have the code of a step, and of all before it, open nothing more; False if it did not."""
    unused = (SECOND_FACTOR.c.staff_id == staff_id) & (SECOND_FACTOR.c.last_step < step)
    return session.run(update(SECOND_FACTOR).where(unused).values(last_step=step)) == 1


def forget_second_factor(session: WriteSession, staff_id: str) -> bool:
    """Forget somebody's second factor with all its codes; False if there was none."""
    _forget(session, SECOND_FACTOR_BEGUN, staff_id)
    _forget(session, RECOVERY_CODE, staff_id)
    return _forget(session, SECOND_FACTOR, staff_id) == 1


def save_recovery_codes(session: WriteSession, staff_id: str, hashes: Iterable[str]) -> None:
    """Keep somebody's recovery codes, in place of those before."""
    _forget(session, RECOVERY_CODE, staff_id)
    rows = [{"hash": one, "staff_id": staff_id, "used_at": None} for one in hashes]
    session.run(insert(RECOVERY_CODE), rows)


def use_recovery_code(session: WriteSession, staff_id: str, code_hash: str, at: datetime) -> bool:
    """Use a recovery code up; False unless it is somebody's and was not used before."""
    code = RECOVERY_CODE.c
    unused = (code.hash == code_hash) & (code.staff_id == staff_id) & code.used_at.is_(None)
    return session.run(update(RECOVERY_CODE).where(unused).values(used_at=at)) == 1


def count_recovery_codes(session: ReadSession, staff_id: str) -> int:
    """How many recovery codes somebody has left."""
    code = RECOVERY_CODE.c
    left = select(func.count()).where(code.staff_id == staff_id, code.used_at.is_(None))
    return int(session.value(left))


def _forget(session: WriteSession, table: Table, staff_id: str) -> int:
    return session.run(delete(table).where(table.c.staff_id == staff_id))


def _about(staff_id: str) -> str:
    return f"second factor of {staff_id}"
