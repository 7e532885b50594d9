"""What the database keeps sealed: who copied it, or a backup of it, reads none of this.

AES-256-GCM (NIST SP 800-38D) with a fresh nonce of 96 bits for each text. What a text belongs to is
authenticated with it, so that a sealed text moved to another row does not open there.
"""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass, field
from secrets import token_bytes
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

SEALED: Final = "sealed1."
NONCE_BYTES: Final = 12


@dataclass(frozen=True, slots=True)
class Vault:
    """Seals and opens texts under a key of 32 bytes; without one everything stays as it is."""

    key: bytes | None = field(repr=False)

    def seal(self, text: str, about: str) -> str:
        """Answer a text as it is stored; `about` says what it belongs to."""
        if self.key is None or not text or is_sealed(text):
            return text
        nonce = token_bytes(NONCE_BYTES)
        sealed = AESGCM(self.key).encrypt(nonce, text.encode(), about.encode())
        return SEALED + urlsafe_b64encode(nonce + sealed).decode()

    def open(self, text: str, about: str) -> str:
        """Answer a stored text in the clear; as it is stored where this key does not open it."""
        if self.key is None or not is_sealed(text):
            return text
        raw = urlsafe_b64decode(text.removeprefix(SEALED))
        try:
            opened = AESGCM(self.key).decrypt(raw[:NONCE_BYTES], raw[NONCE_BYTES:], about.encode())
        except (InvalidTag, ValueError):
            return text
        return opened.decode()


NO_VAULT: Final = Vault(None)


def is_sealed(text: str) -> bool:
    """Whether a text is one that was sealed."""
    return text.startswith(SEALED)
