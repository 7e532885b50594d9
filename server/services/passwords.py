"""Secrets: passwords by argon2, random ones by a plain hash, never kept in the clear."""

from functools import cache
from hashlib import sha256
from secrets import token_urlsafe
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from zxcvbn import zxcvbn

from server.domain.errors import Invalid

SHORTEST_PASSWORD: Final = 10
SOON_GUESSED: Final = 10**6
"""Whoever tries the likeliest first, a hundred a day as signing in lets them, needs 27 years."""

LOOKED_AT: Final = 72  # what the estimate reads of a password at most
OF_THE_BOARD: Final = ("fourth hour", "transfusion", "blood", "ward", "nurse", "hospital")

_HASHER: Final = PasswordHasher()


def require_password(field: str, password: str, *of_the_person: str) -> None:
    """Refuse a password that is short or soon guessed. Any letters will do, and any length.

    `of_the_person`, and the words of the trade, are what somebody would try first.
    """
    if len(password) < SHORTEST_PASSWORD:
        message = f"is too short; expected at least {SHORTEST_PASSWORD} characters"
        raise Invalid(field, message)
    words = [*OF_THE_BOARD, *" ".join(of_the_person).split()]
    if zxcvbn(password[:LOOKED_AT], user_inputs=words)["guesses"] < SOON_GUESSED:
        message = "is soon guessed; expected words that nobody would try, four are good"
        raise Invalid(field, message)


def hash_password(password: str) -> str:
    """Answer what a password is checked against later."""
    return _HASHER.hash(password)


def password_fits(password_hash: str | None, password: str) -> bool:
    """Whether it is the password; takes as long for somebody who does not exist."""
    try:
        _HASHER.verify(password_hash or _nobody(), password)
    except (VerificationError, InvalidHashError):
        return False
    return password_hash is not None


@cache
def _nobody() -> str:
    """A hash of nothing anybody knows: checking it takes as long as checking a real one."""
    return _HASHER.hash(token_urlsafe())


def new_secret() -> str:
    """Answer a secret that nobody can guess; shown once."""
    return token_urlsafe(32)


def hash_secret(secret: str) -> str:
    """Answer what a secret is found by. It is random and long: a plain hash is enough."""
    return sha256(secret.encode()).hexdigest()
