"""Signatures of messages by the open specification Standard Webhooks, its symmetric scheme `v1`.

https://github.com/standard-webhooks/standard-webhooks/blob/main/spec/standard-webhooks.md
"""

from base64 import b64decode, b64encode
from collections.abc import Iterable
from datetime import datetime
from hashlib import sha256
from hmac import digest
from typing import Final

PREFIX: Final = "whsec_"


def secret_of(key: bytes) -> str:
    """Answer a secret as it is written: its prefix, then the key in base64."""
    return PREFIX + b64encode(key).decode()


def signed_headers(
    message_id: str, at: datetime, body: bytes, secrets: Iterable[str]
) -> dict[str, str]:
    """Answer the headers of a message that is sent at `at`, signed with each secret.

    More than one is right while a secret is exchanged: a receiver accepts any that fits.
    """
    seconds = str(int(at.timestamp()))
    signed = b".".join((message_id.encode(), seconds.encode(), body))
    return {
        "webhook-id": message_id,
        "webhook-timestamp": seconds,
        "webhook-signature": " ".join(_signature(secret, signed) for secret in secrets),
    }


def _signature(secret: str, signed: bytes) -> str:
    key = b64decode(secret.removeprefix(PREFIX))
    return f"v1,{b64encode(digest(key, signed, sha256)).decode()}"
