"""What the provider knows: one client, everybody by any name, codes, keys, and its mood."""

import time
from dataclasses import dataclass, field
from typing import Any, Final

from authlib.oauth2.rfc6749 import ClientMixin
from authlib.oidc.core.models import AuthorizationCodeMixin
from joserfc.jwk import KeySet, RSAKey

CLIENT_ID: Final = "board"
CLIENT_SECRET: Final = "between the two of us"


@dataclass
class Client(ClientMixin):  # type: ignore[misc]  # Authlib ships no types
    """The board, as it was registered."""

    back: str
    home: str

    @property
    def client_metadata(self) -> dict[str, Any]:
        return {"post_logout_redirect_uris": [self.home]}

    def get_client_id(self) -> str:
        return CLIENT_ID

    def get_default_redirect_uri(self) -> str:
        return self.back

    def get_allowed_scope(self, scope: str) -> str:
        return scope

    def check_redirect_uri(self, redirect_uri: str) -> bool:
        return redirect_uri == self.back

    def check_client_secret(self, client_secret: str) -> bool:
        return client_secret == CLIENT_SECRET

    def check_endpoint_auth_method(self, method: str, _endpoint: str) -> bool:
        return method == BOOK.auth_method

    def check_response_type(self, response_type: str) -> bool:
        return response_type == "code"

    def check_grant_type(self, grant_type: str) -> bool:
        return grant_type == "authorization_code"


@dataclass
class Code(AuthorizationCodeMixin):  # type: ignore[misc]  # Authlib ships no types
    """A code and what it stands for; Authlib's PKCE reads the challenge from it."""

    code: str
    person: str
    asked: dict[str, Any]
    redirect_uri: str
    scope: str
    auth_time: int

    @property
    def code_challenge(self) -> str | None:
        return self.asked.get("code_challenge")

    @property
    def code_challenge_method(self) -> str | None:
        return self.asked.get("code_challenge_method")

    def get_redirect_uri(self) -> str:
        return self.redirect_uri

    def get_scope(self) -> str:
        return self.scope

    def get_nonce(self) -> str | None:
        return self.asked.get("nonce")

    def get_auth_time(self) -> int:
        return self.auth_time

    def get_acr(self) -> str:
        return str(BOOK.mood.get("acr", "urn:example:two"))

    def get_amr(self) -> list[str]:
        return list(BOOK.mood.get("amr", ["pwd", "otp", "mfa"]))


def new_keys() -> KeySet:
    """A key of its own number, as a provider makes one when it changes keys."""
    key = RSAKey.generate_key(2048, {"kid": f"key-{time.monotonic_ns()}", "use": "sig"})
    return KeySet([key])


@dataclass
class Book:
    """All of it. `mood` says by what this provider strays from the standard just now."""

    issuer: str = ""
    clients: dict[str, Client] = field(default_factory=dict)
    codes: dict[str, Code] = field(default_factory=dict)
    spent: list[str] = field(default_factory=list)
    mood: dict[str, Any] = field(default_factory=dict)
    auth_method: str = "client_secret_basic"
    keys: KeySet = field(default_factory=new_keys)

    def person(self, name: str) -> dict[str, Any]:
        """The claims of somebody; the subject is not the name."""
        claims: dict[str, Any] = {
            "sub": f"s-{name}",
            "preferred_username": name,
            "email": f"{name}@hospital.example",
            "email_verified": True,
        }
        claims.update(self.mood.get("claims", {}))
        return claims


BOOK: Final = Book()
