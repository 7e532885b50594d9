"""Secrets: passwords by argon2, random ones by a plain hash, never kept in the clear."""

from functools import cache
from hashlib import sha256
from secrets import token_urlsafe
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

_HASHER: Final = PasswordHasher()


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
