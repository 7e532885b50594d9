"""Why nobody was let in by the provider of sign-ins, and what to do, in words for who stands there.

What only whoever runs the board can use goes into the log, by words of our own.
"""

import re
from functools import singledispatch
from typing import Final

from server.domain.sign_on import Doubt, Doubted
from server.services.errors import Conflict
from server.services.sso_begun import NotBegun, TooManyBegun
from server.services.sso_refusals import ProviderAway, ProviderRefused
from server.services.sso_sign_in import NotLinked

REFUSALS: Final = (
    *(Conflict, Doubted, NotBegun, NotLinked),
    *(ProviderAway, ProviderRefused, TooManyBegun),
)
"""What keeps somebody from getting in, whom the page then tells why."""

SAY_IT: Final = "If it stays so, tell whoever keeps the board running."
_WORD: Final = re.compile(r"[a-z_]{1,40}")

_DOUBTS: Final = {
    Doubt.TIME: "The clock of {label} and the clock of this board differ. Tell whoever keeps the "
    "board running.",
    Doubt.FACTOR: "{label} did not ask for all that this board requires, such as a second factor. "
    "Set it up there, and try again.",
    Doubt.NOT_ANEW: "{label} let you through without asking who you are. On a shared device that "
    "is not enough: sign out there, and try again.",
    Doubt.ACCOUNT: "{label} did not say what your account is called, or has not verified it. Tell "
    "whoever keeps the board running.",
}
_UNBELIEVED: Final = f"What {{label}} answered cannot be relied on. Try again. {SAY_IT}"


def words_for(refusal: Exception, label: str) -> tuple[int, str]:
    """Answer the HTTP status and the words of a refusal; `label` is what the provider is called."""
    status, words = _words(refusal, label)
    return status, words[:1].upper() + words[1:]


@singledispatch
def _words(refusal: Exception, label: str) -> tuple[int, str]:  # noqa: ARG001 - others say it
    raise refusal


@_words.register
def _(_refusal: NotBegun, label: str) -> tuple[int, str]:
    return 403, (
        f"This answer of {label} belongs to no sign-in that was begun in this browser in the last "
        "ten minutes. Begin again."
    )


@_words.register
def _(refusal: Doubted, label: str) -> tuple[int, str]:
    return 403, _DOUBTS.get(refusal.doubt, _UNBELIEVED).format(label=label)


@_words.register
def _(refusal: NotLinked, label: str) -> tuple[int, str]:
    return 403, (
        f"Your account at {label} belongs to nobody here yet. Sign in another way and link it "
        f"under “My sign-in”, or have an administrator enter it: {refusal.account}"
    )


@_words.register
def _(refusal: ProviderRefused, label: str) -> tuple[int, str]:
    if refusal.word == "access_denied":
        return 403, f"{label} did not let you in, or you left it."
    return 502, f"{label} refused to say who you are. Try again. {SAY_IT}"


@_words.register
def _(_refusal: ProviderAway, label: str) -> tuple[int, str]:
    return 503, f"{label} does not answer. Try again in a minute."


@_words.register
def _(refusal: TooManyBegun, label: str) -> tuple[int, str]:
    unit = "second" if refusal.seconds == 1 else "seconds"
    return 429, (
        f"too many sign-ins at {label} were begun just now. Try again in {refusal.seconds} {unit}, "
        "or sign in another way."
    )


@_words.register
def _(refusal: Conflict, _label: str) -> tuple[int, str]:
    return 409, f"Nothing was linked: {refusal.why}."


def reason_of(refusal: Exception) -> str:
    """Answer the reason as log and audit trail have it; nothing of it was typed by anybody."""
    if isinstance(refusal, Doubted):
        return f"doubt: {refusal.doubt.value}"
    if isinstance(refusal, ProviderAway):
        return f"away: {refusal.why}"
    if isinstance(refusal, ProviderRefused):
        return f"refused: {refusal.word if _WORD.fullmatch(refusal.word) else 'another word'}"
    return {
        NotBegun: "not begun here",
        NotLinked: "not linked",
        TooManyBegun: "too many begun",
    }.get(type(refusal), "in conflict")
