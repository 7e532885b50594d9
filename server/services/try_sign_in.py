"""Count the tries to sign in before they are looked at, and let go of them when one succeeds.

A try counts as failed from the moment it is made: however many come at once, each is counted.
Checking takes a while and is done outside of any transaction, between the two steps here.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.tries import ELSEWHERE, ON_ONE_DEVICE, Patience, after_failure, waits_until
from server.services.audit import note
from server.services.board_key import BoardKey
from server.store import tries as stored
from server.store.sessions import ReadSession, WriteSession

ACCOUNT: Final = "account"
DEVICE: Final = "device"


@dataclass(frozen=True, slots=True)
class Claim:
    """Who somebody says they are, on which device. `staff_id` None: nobody is called that.

    `name` is what was typed or scanned, so that who does not exist waits like who does. `device`
    is the secret of the device's cookie, empty without one. `beside` names a second thing that is
    shown, whose tries are counted apart: the first one, when it is right, must not give it new
    ones. `is_all` is off where a second thing is still wanted, so that the device is not known yet.
    """

    staff_id: str | None
    name: str
    device: str = ""
    beside: str = ""
    is_all: bool = True


class WaitFirst(Exception):
    """There were too many failed tries; `until` is from when on the next one is looked at."""

    def __init__(self, until: datetime) -> None:
        super().__init__(f"too many failed tries; wait until {until:%H:%M:%S}")
        self.until = until


def begin_try(session: WriteSession, key: BoardKey, claim: Claim, *, now: datetime) -> None:
    """Count a try, as failed until it has succeeded. Raises `WaitFirst`; then none is counted."""
    counted = [
        (subject, patience, stored.read_tries(session, subject))
        for subject, patience in _subjects(session, key, claim)
    ]
    waits = [waits_until(tries, patience) for _, patience, tries in counted]
    until = max((one for one in waits if one is not None and one > now), default=None)
    if until is not None:
        raise WaitFirst(until)
    for subject, _, tries in counted:
        stored.save_tries(session, subject, after_failure(tries, now))


def end_try(session: WriteSession, key: BoardKey, claim: Claim, *, now: datetime) -> None:
    """Let go of the tries: this one succeeded. If it was all, the device is known from now on."""
    for subject, _ in _subjects(session, key, claim):
        stored.forget_tries(session, subject)
    if claim.staff_id and claim.is_all:
        know_device(session, key, claim.device, claim.staff_id, now=now)


def know_device(
    session: WriteSession, key: BoardKey, device: str, staff_id: str, *, now: datetime
) -> None:
    """Keep that somebody got in on a device; without a cookie there is none to know."""
    if device:
        stored.know_device(session, _device_hash(key, device), staff_id, now)


def known_device(session: ReadSession, key: BoardKey, device: str) -> str | None:
    """Answer what a device is found by, None for one on which nobody has signed in yet."""
    device_hash = _device_hash(key, device)
    is_known = bool(device) and stored.is_known_to_anybody(session, device_hash)
    return device_hash if is_known else None


def note_failure(session: WriteSession, claim: Claim, *, now: datetime) -> None:
    """Note a try that failed, and whose account it was; what was typed is kept nowhere."""
    subject = Subject(SubjectKind.STAFF, claim.staff_id)
    note(session, None, AuditAct.SIGN_IN_FAILED, subject, now=now)


def _subjects(session: ReadSession, key: BoardKey, claim: Claim) -> list[tuple[str, Patience]]:
    """What is counted: the account on this device, and unless it is known here the account.

    Without a cookie there is no device to count; only the account is.
    """
    account = " ".join(filter(None, (claim.beside, claim.staff_id or f"nobody {claim.name}")))
    elsewhere = (key.digest(ACCOUNT, account), ELSEWHERE)
    if not claim.device:
        return [elsewhere]
    here = (key.digest(DEVICE, account, claim.device), ON_ONE_DEVICE)
    device_hash, staff_id = _device_hash(key, claim.device), claim.staff_id or ""
    is_known = stored.is_known_device(session, device_hash, staff_id)
    return [here] if is_known else [here, elsewhere]


def _device_hash(key: BoardKey, device: str) -> str:
    return key.digest("known device", device)
