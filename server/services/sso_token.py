"""Read the token by which a provider says whom it recognised (OpenID Connect Core 1.0, 3.1.3.7)."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from authlib.oidc.core import CodeIDToken
from joserfc import jwt
from joserfc.errors import (
    BadSignatureError,
    ClaimError,
    ExpiredTokenError,
    InvalidKeyIdError,
    JoseError,
)
from joserfc.jwk import KeySet

from server.domain.sign_on import LEEWAY, Doubt, Doubted, Identity, SignOn, identity_in

ALGORITHMS: Final = (
    "RS256",
    "RS384",
    "RS512",
    "PS256",
    "PS384",
    "PS512",
    "ES256",
    "ES384",
    "ES512",
)
"""Signatures of a key pair: neither none at all, nor one that our own client secret could make."""

_DOUBTS: Final = {
    "iss": Doubt.ISSUER,
    "aud": Doubt.AUDIENCE,
    "azp": Doubt.AUDIENCE,
    "nonce": Doubt.NONCE,
    "exp": Doubt.TIME,
    "iat": Doubt.TIME,
    "nbf": Doubt.TIME,
    "at_hash": Doubt.SIGNATURE,
}


class KeyUnknown(Doubted):
    """It is signed by none of the keys at hand; the provider may have changed them."""

    def __init__(self) -> None:
        super().__init__(Doubt.SIGNATURE)


@dataclass(frozen=True, slots=True)
class Expected:
    """What a token must answer to: the `nonce` that was sent, the access token it came with."""

    sign_on: SignOn
    nonce: str
    access_token: str
    begun_at: datetime


def read_id_token(id_token: str, keys: KeySet, expected: Expected, *, now: datetime) -> Identity:
    """Answer whom a token names. Raises `Doubted`; `KeyUnknown` where other keys might help."""
    claims = _signed_claims(id_token, keys)
    sign_on = expected.sign_on
    asked: dict[str, Any] = {
        "iss": {"essential": True, "value": sign_on.issuer},
        "aud": {"essential": True, "value": sign_on.client_id},
    }
    given = {
        "client_id": sign_on.client_id,
        "nonce": expected.nonce,
        "access_token": expected.access_token,
    }
    token = CodeIDToken(claims.claims, claims.header, asked, given)
    try:
        token.validate(now=int(now.timestamp()), leeway=int(LEEWAY.total_seconds()))
    except ExpiredTokenError:
        raise Doubted(Doubt.TIME) from None
    except ClaimError as wrong:
        raise Doubted(_DOUBTS.get(wrong.claim, Doubt.FORM)) from None
    return identity_in(token, sign_on.rules, expected.begun_at)


def _signed_claims(id_token: str, keys: KeySet) -> jwt.Token:
    try:
        return jwt.decode(id_token, keys, ALGORITHMS)
    except (BadSignatureError, InvalidKeyIdError):
        raise KeyUnknown from None
    except (JoseError, ValueError):
        raise Doubted(Doubt.SIGNATURE) from None
