"""Begin a sign-in at the provider, and take it up again when it sends the person back.

Any process can take it up: what was begun is in the database, and what has to be secret of it
follows, under the board's key, from the secret of the browser's visit. It is taken once.

Whoever presses the button on and on fills no table and keeps out nobody on a device on which
somebody has signed in before: each of these is counted by itself, all strange browsers together
beside them, so that a flood of those can keep a new device waiting. There is no count by address: a
ward has one.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.services.board_key import BoardKey
from server.services.passwords import hash_secret, new_secret
from server.services.try_sign_in import known_device
from server.store import sso as stored
from server.store.sessions import ReadSession, WriteSession
from server.store.sso import Begun, Browser

LASTS: Final = timedelta(minutes=10)

# These figures are this project's own.
OF_ONE: Final = 5
"""So many sign-ins of one browser may be open; one more takes the place of its first."""
ONE_WITHIN: Final = timedelta(seconds=10)
"""Within this no more than those are begun in it."""
OF_STRANGERS: Final = 5_000
"""The same of all browsers together on whose device nobody has signed in before."""
MOST_STRANGERS: Final = 50
STRANGERS_WITHIN: Final = timedelta(seconds=1)
"""Within this no more than `MOST_STRANGERS` are begun in them."""


class NotBegun(Exception):
    """The provider's answer is to nothing that was begun in this browser a moment ago."""


class TooManyBegun(Exception):
    """Too many sign-ins were begun just now; one may be again in so many `seconds`."""

    def __init__(self, wait: timedelta) -> None:
        self.seconds = int(wait.total_seconds())
        super().__init__(f"too many sign-ins were begun; wait {self.seconds} s")


@dataclass(frozen=True, slots=True)
class Errand:
    """A sign-in under way. The provider is told `state` and `nonce`, and of `verifier` a hash.

    `verifier` proves who began it when the code is redeemed (RFC 7636).
    """

    begun: Begun
    state: str
    nonce: str
    verifier: str


def browser_of(session: ReadSession, key: BoardKey, visit: str, device: str) -> Browser:
    """Answer the browser of the secrets of a visit and of a device, empty for one never seen."""
    return Browser(hash_secret(visit), known_device(session, key, device))


def require_pace(session: ReadSession, browser: Browser, *, now: datetime) -> None:
    """Raise `TooManyBegun` where one more sign-in is not begun just now.

    Asked before anything is written: who presses too often takes no turn to write.
    """
    if stored.count_begun(session, now - ONE_WITHIN, browser) >= OF_ONE:
        raise TooManyBegun(ONE_WITHIN)
    is_strange = browser.known_device is None
    since = now - STRANGERS_WITHIN
    if is_strange and stored.count_begun(session, since, None) >= MOST_STRANGERS:
        raise TooManyBegun(STRANGERS_WITHIN)


def begin_sign_on(
    session: WriteSession,
    key: BoardKey,
    visit: str,
    next_path: str,
    *,
    now: datetime,
    browser: Browser,
    staff_id: str | None = None,
) -> Errand:
    """Begin a sign-in in the `browser` that has the secret `visit`.

    With `staff_id` it links the account to that person instead.
    """
    stored.forget_begun(session, now - LASTS)
    stored.keep_last_begun(session, OF_ONE - 1, browser)
    if browser.known_device is None:
        stored.keep_last_begun(session, OF_STRANGERS - 1, None)
    begun, state = Begun(next_path, staff_id, now), new_secret()
    stored.add_begun(session, begun, hash_secret(state), browser)
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
