"""The key of a board: with it badges are found and PINs are checked, without it neither is.

Badge numbers and PINs are short: whoever had only their plain hashes could try them all in an
hour. The key stands outside of the database, so that a copy of the database gives none away.
"""

from dataclasses import dataclass, field
from hashlib import sha256
from hmac import digest


@dataclass(frozen=True, slots=True)
class BoardKey:
    """The key, at least 32 bytes that nobody can guess."""

    key: bytes = field(repr=False)

    def part(self, purpose: str) -> bytes:
        """Answer a key of 32 bytes for one purpose; none tells anything of another."""
        return digest(self.key, purpose.encode(), sha256)

    def digest(self, purpose: str, *texts: str) -> str:
        """Answer what texts stand for under this key, differently for each purpose."""
        said = "\0".join((purpose, *texts)).encode()
        return digest(self.key, said, sha256).hex()
