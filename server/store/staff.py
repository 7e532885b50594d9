"""Staff, their wards, and the hash of their password for signing in."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Select, delete, insert, or_, select, union_all, update

from server.domain.words import Role
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, in_chunks, one_of, upsert
from server.store.tables import STAFF, STAFF_WARD, TOKEN


@dataclass(frozen=True, slots=True)
class Staff:
    """A member of staff; `wards` None: all wards. Without a sign-in name: only named in the log."""

    id: str
    name: str
    role: Role
    wards: frozenset[str] | None
    sign_in_name: str | None = None
    active: bool = True


_STAFF: Final = select(
    STAFF.c.id, STAFF.c.name, STAFF.c.role, STAFF.c.all_wards, STAFF.c.sign_in_name, STAFF.c.active
)
# Programs record as well: the log names them by their token.
_NAMES: Final = union_all(
    *(select(one.c.id, one.c.name).where(one_of(one.c.id)) for one in (TOKEN, STAFF))
)


def save_staff(session: WriteSession, staff: Staff) -> None:
    """Enter or change a member of staff; the password stays. `Clash`: sign-in name taken."""
    row = {
        "id": staff.id,
        "name": staff.name,
        "role": staff.role.value,
        "all_wards": staff.wards is None,
        "sign_in_name": staff.sign_in_name,
        "password_hash": None,
        "active": staff.active,
    }
    session.run(upsert(session.engine_name, STAFF.name, ("password_hash",)), row)
    session.run(delete(STAFF_WARD).where(STAFF_WARD.c.staff_id == staff.id))
    wards = [{"staff_id": staff.id, "ward_id": ward_id} for ward_id in sorted(staff.wards or ())]
    session.run(insert(STAFF_WARD), wards)


def set_password_hash(session: WriteSession, staff_id: str, password_hash: str | None) -> None:
    """Set what a password is checked against; None: cannot sign in."""
    kept = update(STAFF).where(STAFF.c.id == staff_id)
    session.run(kept.values(password_hash=password_hash))


def read_staff(session: ReadSession, staff_id: str) -> Staff | None:
    """One member of staff, None if there is none of that id."""
    return next(iter(_read(session, _STAFF.where(STAFF.c.id == staff_id))), None)


def staff_of_ids(session: ReadSession, staff_ids: Iterable[str]) -> dict[str, Staff]:
    """Members of staff by id; few queries for however many."""
    return {
        one.id: one
        for chunk in in_chunks(sorted(set(staff_ids)))
        for one in _read(session, _STAFF.where(STAFF.c.id.in_(chunk)))
    }


def staff_named(session: ReadSession, sign_in_name: str) -> tuple[Staff, str | None] | None:
    """Who signs in under a name, with the hash of the password; None if nobody does."""
    found = _read(session, _STAFF.where(STAFF.c.sign_in_name == sign_in_name))
    hashes = select(STAFF.c.password_hash).where(STAFF.c.sign_in_name == sign_in_name)
    return (found[0], session.value(hashes)) if found else None


def list_staff(session: ReadSession, ward_ids: Iterable[str] | None = None) -> tuple[Staff, ...]:
    """The staff of these wards, those of all wards among them (None: everybody), by name."""
    listed = _STAFF.order_by(STAFF.c.name, STAFF.c.id)
    if ward_ids is not None:
        here = select(STAFF_WARD.c.staff_id).where(STAFF_WARD.c.ward_id.in_(sorted(ward_ids)))
        listed = listed.where(or_(STAFF.c.all_wards, STAFF.c.id.in_(here)))
    return _read(session, listed)


def staff_names(session: ReadSession, staff_ids: Iterable[str]) -> dict[str, str]:
    """The names behind these ids, of people and of programs, as far as they are known."""
    return {
        row.id: row.name
        for chunk in in_chunks(sorted(set(staff_ids)))
        for row in session.rows(_NAMES, {IDS: chunk})
    }


def _read(session: ReadSession, listed: Select[Any]) -> tuple[Staff, ...]:
    rows = session.rows(listed)
    wards: dict[str, set[str]] = defaultdict(set)
    theirs = select(STAFF_WARD).where(STAFF_WARD.c.staff_id.in_([row.id for row in rows]))
    for row in session.rows(theirs):
        wards[row.staff_id].add(row.ward_id)
    return tuple(
        Staff(
            id=row.id,
            name=row.name,
            role=Role(row.role),
            wards=None if row.all_wards else frozenset(wards[row.id]),
            sign_in_name=row.sign_in_name,
            active=row.active,
        )
        for row in rows
    )
