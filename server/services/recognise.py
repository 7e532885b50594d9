"""Recognise somebody by what they show: name and password, badge and PIN, or either to unlock."""

from server.domain.words import Role
from server.services.actor import Actor
from server.services.badges import holder_of
from server.services.board_key import BoardKey
from server.services.set_pin import pin_fits
from server.services.sign_in import check_password
from server.services.try_sign_in import Claim
from server.store.second_factors import read_second_factor
from server.store.sessions import ReadSession
from server.store.staff import Staff, read_staff, staff_named


def claim_by_name(session: ReadSession, sign_in_name: str, device: str) -> Claim:
    """Who somebody says they are by the name they sign in with."""
    named = staff_named(session, sign_in_name)
    if named is None:
        return Claim(None, sign_in_name, device)
    is_all = read_second_factor(session, named[0].id) is None
    return Claim(named[0].id, sign_in_name, device, is_all=is_all)


def claim_by_badge(session: ReadSession, key: BoardKey, badge: str, device: str) -> Claim:
    """Who somebody says they are by the badge they show."""
    return Claim(holder_of(session, key, badge), badge, device)


def by_password(
    session: ReadSession, claim: Claim, password: str, *, for_all: bool = True
) -> Staff | None:
    """Answer who it is, None unless the password of the name that was claimed fits.

    Without `for_all` an administrator's alone does: somebody has to get in while the provider of
    sign-ins is away.
    """
    staff = check_password(session, claim.name, password)
    is_taken = staff is not None and (for_all or staff.role is Role.ADMINISTRATOR)
    return staff if is_taken else None


def by_pin(session: ReadSession, key: BoardKey, claim: Claim, pin: str) -> Staff | None:
    """Answer who it is, None unless the PIN of whoever was claimed fits."""
    fits = pin_fits(session, key, claim.staff_id, pin)
    staff = read_staff(session, claim.staff_id) if claim.staff_id and fits else None
    return staff if staff is not None and staff.active else None


def is_again(session: ReadSession, key: BoardKey, actor: Actor, secret: str) -> bool:
    """Whether it is the PIN or the password of the person whose screen is locked."""
    if secret.isdecimal() and pin_fits(session, key, actor.id, secret):
        return True
    return is_password_of(session, actor, secret)


def is_password_of(session: ReadSession, actor: Actor, password: str) -> bool:
    """Whether it is the password of somebody who is signed in."""
    staff = read_staff(session, actor.id)
    name = "" if staff is None else staff.sign_in_name or ""
    return check_password(session, name, password) is not None
