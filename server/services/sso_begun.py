"""Begin a sign-in at the provider, and take it up again when it sends the person back.

Any process can take it up: what was begun is in the database, and what has to be secret of it
follows, under the board's key, from the secret of the browser's visit. It is taken once.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.services.board_key import BoardKey
from server.services.passwords import hash_secret, new_secret
from server.store import sso as stored
from server.store.sessions import WriteSession
from server.store.sso import Begun

LASTS: Final = timedelta(minutes=10)


class NotBegun(Exception):
    """The provider's answer is to nothing that was begun in this browser a moment ago."""


@dataclass(frozen=True, slots=True)
class Errand:
    """A sign-in under way. The provider is told `state` and `nonce`, and of `verifier` a hash.

    `verifier` proves who began it when the code is redeemed (RFC 7636).
    """

    begun: Begun
    state: str
    nonce: str
    verifier: str


def begin_sign_on(
    session: WriteSession,
    key: BoardKey,
    visit: str,
    next_path: str,
    *,
    now: datetime,
    staff_id: str | None = None,
) -> Errand:
    """Begin a sign-in in the browser that has the secret `visit`.

    With `staff_id` it links the account to that person instead.
    """
    stored.forget_begun(session, now - LASTS)
    begun, state = Begun(next_path, staff_id, now), new_secret()
    stored.add_begun(session, begun, hash_secret(state), hash_secret(visit))
    return _errand(key, visit, state, begun)


def take_sign_on(
    session: WriteSession, key: BoardKey, visit: str, state: str, *, now: datetime
) -> Errand:
    """Take up what was begun under `state`. Raises `NotBegun`; also the second time."""
    begun = stored.take_begun(session, hash_secret(state), hash_secret(visit))
    if begun is None or not now - LASTS <= begun.begun_at <= now:
        raise NotBegun
    return _errand(key, visit, state, begun)


def _errand(key: BoardKey, visit: str, state: str, begun: Begun) -> Errand:
    nonce, verifier = (key.digest(f"sign-on {part}", visit, state) for part in ("nonce", "proof"))
    return Errand(begun, state, nonce, verifier)
