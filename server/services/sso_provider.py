"""The provider of sign-ins, asked over HTTP: what it says of itself, and whom it recognised.

OpenID Connect Core 1.0 by way of authorization code and PKCE; Authlib writes and reads the
messages. Each question has one limit of time for all of it, each answer one of length, and none
holds a thread: a provider that hangs or pours keeps nobody from a board. Nothing is asked while a
transaction is open.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from time import monotonic
from typing import Any, Final
from urllib.parse import urlsplit

from authlib.common.urls import add_params_to_uri
from authlib.integrations.httpx_client import AsyncOAuth2Client
from authlib.oauth2.client import OAuth2Client
from authlib.oidc.core import UserInfo
from authlib.oidc.discovery import get_well_known_url
from joserfc.jwk import KeySet

from server.domain.sign_on import Doubt, Doubted, Identity, SignOn
from server.services.sso_asking import bounded, get_json, in_time, keys_at
from server.services.sso_begun import Errand
from server.services.sso_refusals import ProviderAway
from server.services.sso_sign_in import Recognised
from server.services.sso_token import Expected, KeyUnknown, read_id_token

ANSWER_SECONDS: Final = 5.0
KEPT_SECONDS: Final = 600.0
ENDPOINTS: Final = ("authorization_endpoint", "token_endpoint", "jwks_uri")
BASIC, POST = "client_secret_basic", "client_secret_post"


@dataclass(frozen=True, slots=True)
class Card:
    """What a provider says of itself, with its keys, as read at `read_at` of a monotonic clock."""

    said: dict[str, Any]
    keys: KeySet
    read_at: float


class Provider:
    """One provider. What it says of itself is kept for ten minutes, or until keys are missing."""

    def __init__(self, sign_on: SignOn, *, patience: float = ANSWER_SECONDS) -> None:
        self.sign_on = sign_on
        self._patience = patience  # seconds
        self._card: Card | None = None

    async def greet(self) -> None:
        """Make sure that the provider is there. Raises `ProviderAway`."""
        await self._known()

    async def address_of(self, errand: Errand) -> str:
        """Answer where somebody is recognised. Raises `ProviderAway`."""
        card, rules = await self._known(), self.sign_on.rules
        client = OAuth2Client(
            None,
            self.sign_on.client_id,
            scope=scope_for(rules.claim),
            redirect_uri=self.sign_on.back,
            code_challenge_method="S256",
        )
        anew = {"prompt": "login", "max_age": "0"} if rules.anew else {}
        classes = {"acr_values": " ".join(rules.acr)} if rules.acr else {}
        address, _ = client.create_authorization_url(
            card.said["authorization_endpoint"],
            state=errand.state,
            nonce=errand.nonce,
            code_verifier=errand.verifier,
            **anew,
            **classes,
        )
        return str(address)

    async def recognise(
        self, errand: Errand, code: str, issuer: str, *, now: datetime
    ) -> Recognised:
        """Redeem the code that somebody came back with, and answer who it is.

        `issuer` is what the answer says it is of, empty if nothing (RFC 9207). Raises `Doubted`,
        `ProviderRefused`, `ProviderAway`.
        """
        card = await self._known()
        self._require_issuer(card, issuer)
        async with in_time(self._patience):
            tokens = await self._redeem(card, errand, code)
            expected = self._expected(tokens, errand)
            id_token = str(tokens.get("id_token", ""))
            identity = await self._read(id_token, card, expected, now=now)
        return Recognised(identity, id_token)

    async def leaving_address(self, id_token: str) -> str:
        """Answer where somebody signs out at the provider too, empty if it has no such place.

        OpenID Connect RP-Initiated Logout 1.0, section 2. Raises `ProviderAway`.
        """
        card = await self._known()
        leaving = str(card.said.get("end_session_endpoint", ""))
        if not self._is_sound(leaving):
            return ""
        asked = {
            "id_token_hint": id_token,
            "client_id": self.sign_on.client_id,
            "post_logout_redirect_uri": self.sign_on.home,
        }
        return str(add_params_to_uri(leaving, list(asked.items())))

    async def _known(self) -> Card:
        """What the provider says of itself, asked again after a while."""
        card = self._card
        if card is None or monotonic() - card.read_at > KEPT_SECONDS:
            async with in_time(self._patience):
                card = self._card = await self._introduced()
        return card

    async def _introduced(self) -> Card:
        issuer = self.sign_on.issuer
        said = await get_json(get_well_known_url(issuer, external=True))
        if said.get("issuer") != issuer:
            raise ProviderAway("it calls itself by another address than the one that is set")
        for name in ENDPOINTS:
            if not self._is_sound(str(said.get(name, ""))):
                raise ProviderAway(f"it names no sound {name}")
        return Card(said, await keys_at(said["jwks_uri"]), monotonic())

    async def _read(
        self, id_token: str, card: Card, expected: Expected, *, now: datetime
    ) -> Identity:
        """Read a token; once more where the provider may have changed its keys."""
        try:
            return read_id_token(id_token, card.keys, expected, now=now)
        except KeyUnknown:
            keys = await keys_at(card.said["jwks_uri"])
        self._card = replace(card, keys=keys)
        return read_id_token(id_token, keys, expected, now=now)

    async def _redeem(self, card: Card, errand: Errand, code: str) -> dict[str, Any]:
        methods = card.said.get("token_endpoint_auth_methods_supported", [BASIC])
        async with AsyncOAuth2Client(
            self.sign_on.client_id,
            self.sign_on.client_secret,
            token_endpoint_auth_method=BASIC if BASIC in methods else POST,
            redirect_uri=self.sign_on.back,
            **bounded(),
        ) as client:
            tokens: dict[str, Any] = await client.fetch_token(
                card.said["token_endpoint"],
                grant_type="authorization_code",
                code=code,
                code_verifier=errand.verifier,
            )
            return tokens

    def _expected(self, tokens: dict[str, Any], errand: Errand) -> Expected:
        access_token, begun_at = str(tokens.get("access_token", "")), errand.begun.begun_at
        return Expected(self.sign_on, errand.nonce, access_token, begun_at)

    def _require_issuer(self, card: Card, issuer: str) -> None:
        """Refuse an answer of another provider, or one that leaves out whose it is."""
        says = card.said.get("authorization_response_iss_parameter_supported") is True
        if issuer != self.sign_on.issuer and (issuer or says):
            raise Doubted(Doubt.ISSUER)

    def _is_sound(self, address: str) -> bool:
        """Whether it may be gone to: encrypted, unless the provider is on this machine itself."""
        return urlsplit(address).scheme in {"https", urlsplit(self.sign_on.issuer).scheme}


def scope_for(claim: str) -> str:
    """Answer what has to be asked for so that a token names the claim."""
    mapping: dict[str, list[str]] = UserInfo.SCOPES_CLAIMS_MAPPING
    named = [scope for scope, claims in mapping.items() if claim in claims]
    return " ".join(dict.fromkeys(["openid", *(named or ["profile"])]))
