"""The tokens of the provider: as Authlib makes them, or spoilt in one way as its mood says."""

from base64 import urlsafe_b64encode
from collections.abc import Callable
from json import dumps
from typing import Any, Final

from authlib.oauth2.rfc6749 import OAuth2Request, grants
from authlib.oidc.core import UserInfo
from authlib.oidc.core.grants import OpenIDCode
from joserfc import jwt
from joserfc.jwk import KeySet, OctKey

from tests.provider.book import BOOK, CLIENT_SECRET, Code, new_keys

Claims = dict[str, Any]
HOUR: Final = 3600


class CodeGrant(grants.AuthorizationCodeGrant):  # type: ignore[misc]  # Authlib ships no types
    """Codes in memory, each redeemed once."""

    TOKEN_ENDPOINT_AUTH_METHODS = ("client_secret_basic", "client_secret_post")

    def save_authorization_code(self, code: str, request: OAuth2Request) -> None:
        asked = dict(request.payload.data)
        name, auth_time = request.user
        scope, back = request.payload.scope, request.payload.redirect_uri
        BOOK.codes[code] = Code(code, name, asked, back, scope, auth_time)

    def query_authorization_code(self, code: str, _client: object) -> Code | None:
        return BOOK.codes.get(code)

    def delete_authorization_code(self, authorization_code: Code) -> None:
        BOOK.spent.append(authorization_code.code)
        del BOOK.codes[authorization_code.code]

    def authenticate_user(self, authorization_code: Code) -> str:
        return authorization_code.person


class IdTokens(OpenIDCode):  # type: ignore[misc]  # Authlib ships no types
    """Says who it is, with the key of the moment."""

    def exists_nonce(self, nonce: str, _request: OAuth2Request) -> bool:
        return any(code.get_nonce() == nonce for code in BOOK.codes.values())

    def resolve_client_private_key(self, _client: object) -> KeySet:
        return BOOK.keys

    def get_client_claims(self, client: Any) -> Claims:
        return {"iss": BOOK.issuer, "aud": [client.get_client_id()]}

    def get_encode_header(self, _client: object) -> Claims:
        return {"alg": "RS256", "kid": BOOK.keys.keys[0].kid}

    def generate_user_info(self, user: str, _scope: str) -> UserInfo:
        return UserInfo(BOOK.person(user))

    def encode_id_token(self, token: Claims, request: OAuth2Request) -> str:
        made: str = super().encode_id_token(token, request)
        spoil = SPOILS.get(BOOK.mood.get("spoil", ""))
        return made if spoil is None else spoil(jwt.decode(made, BOOK.keys, ["RS256"]).claims)


def _signed(claims: Claims) -> str:
    return jwt.encode({"alg": "RS256", "kid": BOOK.keys.keys[0].kid}, claims, BOOK.keys)


def _with(**other: Any) -> Callable[[Claims], str]:
    return lambda claims: _signed(claims | other)


def _without(name: str) -> Callable[[Claims], str]:
    return lambda claims: _signed({one: said for one, said in claims.items() if one != name})


def _moved(seconds: int) -> Callable[[Claims], str]:
    """A token of another time, as of a clock that is wrong."""

    def move(claims: Claims) -> str:
        times = {name: claims[name] + seconds for name in ("iat", "exp", "auth_time")}
        return _signed(claims | times)

    return move


def _unsigned(claims: Claims) -> str:
    parts = (dumps({"alg": "none", "typ": "JWT"}), dumps(claims))
    return ".".join([*(_plain(one) for one in parts), ""])


def _plain(text: str) -> str:
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _by_secret(claims: Claims) -> str:
    """Signed with what the board itself knows, so that anybody who knows it could have."""
    key = OctKey.import_key(CLIENT_SECRET.ljust(32))
    return jwt.encode({"alg": "HS256", "kid": BOOK.keys.keys[0].kid}, claims, key)


def _by_another(claims: Claims) -> str:
    """Signed by another key under the number of the right one."""
    header = {"alg": "RS256", "kid": BOOK.keys.keys[0].kid}
    return jwt.encode(header, claims, new_keys().keys[0])


SPOILS: Final[dict[str, Callable[[Claims], str]]] = {
    "nonce": _with(nonce="of somebody else"),
    "no nonce": _without("nonce"),
    "issuer": _with(iss="https://another.example"),
    "audience": _with(aud=["another"]),
    "audiences": _with(aud=["board", "another"]),
    "party": _with(aud=["board", "another"], azp="another"),
    "expired": _moved(-2 * HOUR),
    "of the future": _moved(2 * HOUR),
    "access token": _with(at_hash="x" * 22),
    "no subject": _without("sub"),
    "methods": _with(amr="mfa"),
    "asked long ago": lambda claims: _signed(claims | {"auth_time": claims["iat"] - HOUR}),
    "asked nobody knows when": _with(auth_time=float("nan")),
    "never asked": _without("auth_time"),
    "unsigned": _unsigned,
    "by secret": _by_secret,
    "by another": _by_another,
    "no token": lambda _: "no token",
}
