"""Delivery of messages to other programs: what an answer means, and when to try again.

At least once: a message is tried until the receiver has taken it or the message is stale. Its
identity is the same on every try, so that a receiver can tell a repeat from something new.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import parsedate_to_datetime
from enum import StrEnum
from hashlib import sha256
from typing import Final

from server.domain.clock import SECOND

FIRST_WAIT: Final = 4 * SECOND
LONGEST_WAIT: Final = 128 * SECOND
LONGEST_REST: Final = timedelta(hours=1)  # whatever a receiver asks for
MOST_REFUSALS: Final = 5  # in a row, until a webhook is turned off
_GONE: Final = 410
_TRY_LATER: Final = frozenset({408, 425, 429})
_DIGITS: Final = 9  # more seconds than that are as good as any


class DeliveryState(StrEnum):
    """How the delivery of one message stands."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    STALE = "stale"
    DROPPED = "dropped"


class Outcome(StrEnum):
    """What came of one try. `refused`: the same message would be refused again."""

    TAKEN = "taken"
    FAILED = "failed"
    REFUSED = "refused"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class Answer:
    """What a receiver answered: an HTTP status, or None and in `said` why nothing came back.

    `retry_after` is that header as it came.
    """

    status: int | None
    said: str = ""
    retry_after: str | None = None

    @property
    def words(self) -> str:
        """The answer in a few words."""
        return self.said if self.status is None else f"HTTP {self.status}"


def outcome_of(answer: Answer) -> Outcome:
    """Answer what a try came to. A redirect is not followed: the address is wrong."""
    status = answer.status
    if status is None or status in _TRY_LATER:
        return Outcome.FAILED
    if status == _GONE:
        return Outcome.GONE
    match status // 100:
        case 2:
            return Outcome.TAKEN
        case 3 | 4:
            return Outcome.REFUSED
    return Outcome.FAILED


def wait_after(tries: int, seed: str) -> timedelta:
    """Answer how long to wait after so many tries (1 or more), in whole seconds.

    Doubled each time from 4 s up to 128 s; the later half of the wait is left to chance, so that
    many who failed at once do not come back at once. `seed` is the chance: the same, the same wait.
    """
    longest = min(FIRST_WAIT * 2 ** min(tries - 1, 16), LONGEST_WAIT)
    drawn = sha256(f"{seed} {tries}".encode()).digest()
    share = int.from_bytes(drawn[:4]) / 2**32
    return timedelta(seconds=round(longest.total_seconds() * (1 + share) / 2))


def rest_asked(answer: Answer, now: datetime) -> timedelta | None:
    """Answer how long a receiver asks to be left alone, at most an hour; None: it does not ask.

    By RFC 9110, 10.2.3: seconds, or the date of HTTP.
    """
    asked = (answer.retry_after or "").strip()
    if asked.isascii() and asked.isdecimal():
        return min(timedelta(seconds=int(asked[:_DIGITS])), LONGEST_REST)
    try:
        until = parsedate_to_datetime(asked)
    except ValueError:
        return None
    if until.tzinfo is None:
        return None
    return min(max(until - now, timedelta(0)), LONGEST_REST)
