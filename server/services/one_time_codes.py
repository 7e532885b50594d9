"""Codes that hold for half a minute (RFC 6238), and codes that hold once and for longer.

Of the first kind pyotp does the arithmetic; secrets have 160 bits, as RFC 4226 recommends. Six
digits, SHA-1 and thirty seconds are what apps take for granted. One of the second kind has 120
random bits, so that its plain hash can be kept (OWASP ASVS 5.0, 6.5.2: from 112 bits on).
"""

from base64 import b32encode
from datetime import datetime
from secrets import token_bytes
from typing import Final

from pyotp import TOTP, random_base32
from pyotp.exceptions import OTPVerificationError

from server.store.vault import is_sealed

ISSUER: Final = "Fourth Hour"
DIGITS: Final = 6
STEPS_APART: Final = 1
"""A code of the step before or after is taken: RFC 6238, section 5.2, allows one for delays."""

RECOVERY_CODES: Final = 8
RECOVERY_BYTES: Final = 15
GROUP: Final = 4


def new_code_secret() -> str:
    """Answer what codes of a person come from, in base32."""
    return random_base32()


def step_of(secret: str, code: str, now: datetime) -> int | None:
    """Answer of which half minute, counted from 1970, a code is; None for one that does not fit.

    No code fits a secret that stayed sealed, because the board's key does not open it.
    """
    digits = "".join(code.split())
    if is_sealed(secret) or len(digits) != DIGITS or not (digits.isascii() and digits.isdecimal()):
        return None
    try:
        return TOTP(secret).verify_and_get_timecode(digits, for_time=now, valid_window=STEPS_APART)
    except OTPVerificationError:
        return None


def address_for_apps(secret: str, name: str) -> str:
    """Answer the address that an app reads a secret from; `name` is whose it is."""
    return TOTP(secret).provisioning_uri(name=name, issuer_name=ISSUER)


def in_groups(text: str) -> str:
    """Answer a code or secret as it is shown and typed: `ABCD EFGH IJKL`."""
    return " ".join(text[at : at + GROUP] for at in range(0, len(text), GROUP))


def new_recovery_code() -> str:
    """Answer a code of 24 letters and digits that cannot be taken for one another."""
    return b32encode(token_bytes(RECOVERY_BYTES)).decode()


def plain_recovery_code(typed: str) -> str:
    """Answer a recovery code as it was made, however it was typed."""
    return "".join(typed.split()).replace("-", "").upper()
