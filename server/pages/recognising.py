"""Recognise whoever types into a form: each try is counted first, then looked at."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from math import ceil
from typing import Any, Final

from fastapi import Request, Response

from server.pages.devices import device_of
from server.pages.forms.entry import MISSING, Entry, Wrong
from server.pages.refusals import FORM
from server.pages.visitors import now_of
from server.services.actor import Actor
from server.services.recognise import (
    by_password,
    by_pin,
    claim_by_badge,
    claim_by_name,
    is_again,
    is_password_of,
)
from server.services.try_sign_in import Claim, WaitFirst, begin_try, end_try, note_failure
from server.store.sessions import ReadSession
from server.store.staff import Staff

WRONG_PAIR: Final = "Name or password is wrong."
NOT_FOR_ALL: Final = "Name or password is wrong, or is not an administrator’s."
WRONG_BADGE: Final = "This badge and this PIN do not belong together, or the badge is not recorded."
WRONG_PASSWORD: Final = "is not your password"  # noqa: S105 - a sentence
WRONG_SECRET: Final = "This is neither your PIN nor your password."  # noqa: S105 - a sentence
MINUTE: Final = 60

Look = Callable[[ReadSession], Any]


class Waits(Wrong):
    """Too many tries failed; the next one is looked at in so many `seconds`."""

    def __init__(self, until: datetime, now: datetime) -> None:
        self.seconds = ceil((until - now).total_seconds())
        super().__init__({FORM: f"Too many tries failed. {_again_in(self.seconds)}"}, status=429)


@dataclass(frozen=True, slots=True)
class Trial:
    """One try: whose it is said to be, how it is looked at, and the words when it fails."""

    claim: Claim
    look: Look
    wrong: str


def staff_signing(request: Request, typed: Entry) -> Staff:
    """Answer whose badge and PIN, or name and password, were typed.

    Raises `Wrong`; `Waits` after too many tries.
    """
    trial = _by_badge(request, typed) if shows_badge(typed) else _by_name(request, typed)
    staff: Staff = _tried(request, trial)
    return staff


def shows_badge(typed: Entry) -> bool:
    """Whether somebody signs in by badge and PIN, which are two factors; otherwise by password."""
    return bool(typed.raw("badge").strip()) or "sign_in_name" not in typed


def require_again(request: Request, actor: Actor, typed: Entry) -> None:
    """Have somebody say again who they are, by PIN or password. Raises `Wrong`, `Waits`."""
    secret, key = typed.raw("secret"), request.app.state.board_key
    if not secret:
        raise Wrong({"secret": MISSING})
    _require(
        request,
        actor,
        lambda session: is_again(session, key, actor, secret),
        "secret",
        WRONG_SECRET,
    )


def require_password(request: Request, actor: Actor, typed: Entry) -> None:
    """Have somebody give their password again. Raises `Wrong`, `Waits`."""
    password = typed.raw("password")
    if not password:
        raise Wrong({"password": MISSING})
    _require(
        request,
        actor,
        lambda session: is_password_of(session, actor, password),
        "password",
        WRONG_PASSWORD,
    )


def count_try(request: Request, claim: Claim) -> None:
    """Count a try before it is looked at. Raises `Waits`."""
    state, now = request.app.state, now_of(request)
    try:
        with state.store.write() as session:
            begin_try(session, state.board_key, claim, now=now)
    except WaitFirst as wait:
        raise Waits(wait.until, now) from None


def say_when(answer: Response, wrong: Wrong) -> Response:
    """Tell a program as well when the next try is looked at."""
    if isinstance(wrong, Waits):
        answer.headers["Retry-After"] = str(wrong.seconds)
    return answer


def _require(
    request: Request, actor: Actor, fits: Callable[[ReadSession], bool], field: str, wrong: str
) -> None:
    claim = Claim(actor.id, "", device_of(request))
    try:
        _tried(request, Trial(claim, lambda session: fits(session) or None, wrong))
    except Waits:
        raise
    except Wrong as refused:
        raise Wrong({field: refused.errors[FORM]}) from None


def _by_name(request: Request, typed: Entry) -> Trial:
    name, password = typed.text("sign_in_name", required=True) or "", typed.raw("password")
    if not password:
        typed.refuse("password", MISSING)
    typed.check()
    for_all = request.app.state.settings.passwords_for_all
    with request.app.state.store.read() as session:
        claim = claim_by_name(session, name, device_of(request))
    return Trial(
        claim,
        lambda session: by_password(session, claim, password, for_all=for_all),
        WRONG_PAIR if for_all else NOT_FOR_ALL,
    )


def _by_badge(request: Request, typed: Entry) -> Trial:
    badge, pin, key = typed.raw("badge").strip(), typed.raw("pin"), request.app.state.board_key
    for name, said in (("badge", badge), ("pin", pin)):
        if not said:
            typed.refuse(name, MISSING)
    typed.check()
    with request.app.state.store.read() as session:
        claim = claim_by_badge(session, key, badge, device_of(request))
    return Trial(claim, lambda session: by_pin(session, key, claim, pin), WRONG_BADGE)


def _tried(request: Request, trial: Trial) -> Any:
    """Count a try, look at it outside of any transaction that writes, and say how it ended."""
    store, key, now = request.app.state.store, request.app.state.board_key, now_of(request)
    count_try(request, trial.claim)
    with store.read() as session:
        found = trial.look(session)
    with store.write() as session:
        if found is None:
            note_failure(session, trial.claim, now=now)
        else:
            end_try(session, key, trial.claim, now=now)
    if found is None:
        raise Wrong({FORM: trial.wrong})
    return found


def _again_in(seconds: int) -> str:
    if seconds <= MINUTE:
        return f"The next one is looked at in {seconds} seconds."
    return f"The next one is looked at in {ceil(seconds / MINUTE)} minutes."
