"""Take part in a running check as the second person, on either device."""

from dataclasses import replace
from datetime import datetime
from typing import Final

from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.identity_cases import Running, is_running, require_checker, require_open
from server.services.passwords import hash_secret, new_secret
from server.services.sign_in import actor_of
from server.store.identity_checks import give_seat, seated, set_second
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import Staff, read_staff

SAME: Final = "you are the first checker; the second has to be another person"


def join_check(session: WriteSession, running: Running, *, now: datetime) -> None:
    """Have whoever is at a check take part as the second checker; who does so already stays it.

    Raises `Conflict` for the first checker, for a third person, and under a policy that asks for
    one person.
    """
    check, staff_id = running.check, running.staff_id
    if staff_id == check.opened_by:
        raise Conflict(SAME)
    if check.checkers == 1:
        raise Conflict("the policy asks for one person, and that person has begun")
    if check.second_by not in (None, staff_id):
        raise Conflict("two other people are checking this unit")
    if check.second_by is None:
        set_second(session, check.id, staff_id, now)


def sign_second(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    check_id: str,
    second: Staff,
    *,
    now: datetime,
) -> str:
    """Take part on the device of the first checker, whose session goes on.

    `second` is whose name and password were checked just now. Answers the secret by which this
    device knows that the second person is reading; it is worth nothing once the check has ended.
    """
    running = require_open(session, actor, episode_id, check_id, now=now)
    if running.staff_id not in running.check.people:
        raise Conflict("two other people are checking this unit")
    second_id = require_checker(actor_of(second), running.check.ward_id)
    join_check(session, replace(running, staff_id=second_id), now=now)
    secret = new_secret()
    give_seat(session, check_id, hash_secret(secret))
    return secret


def actor_of_seat(
    session: ReadSession, episode_id: str, secret: str, *, now: datetime
) -> Actor | None:
    """Answer who reads on somebody else's device, None where nobody does while a check runs."""
    check = seated(session, episode_id, hash_secret(secret)) if secret else None
    if check is None or check.second_by is None or not is_running(session, check, now=now):
        return None
    staff = read_staff(session, check.second_by)
    return actor_of(staff) if staff is not None and staff.active else None
