"""What a provider of sign-ins has to say of somebody before a board lets them in.

Signature, issuer, audience, nonce and times are judged where tokens are read (OpenID Connect Core
1.0, section 3.1.3.7). This is what a board asks for beyond them: who it is here, by how many
factors, and whether they were asked for just now.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any, Final

LEEWAY: Final = timedelta(seconds=60)
"""By how much the clocks of a board and of its provider may differ."""

LONGEST: Final = 200
LONGEST_SUBJECT: Final = 255
"""Of `sub` (OpenID Connect Core 1.0, section 2)."""

EMAIL: Final = "email"


class Doubt(StrEnum):
    """Why what a provider said of somebody is not believed."""

    FORM = "form"
    SIGNATURE = "signature"
    ISSUER = "issuer"
    AUDIENCE = "audience"
    NONCE = "nonce"
    TIME = "time"
    FACTOR = "factor"
    NOT_ANEW = "not_anew"
    ACCOUNT = "account"


class Doubted(Exception):
    """What a provider said is not believed; it names nobody."""

    def __init__(self, doubt: Doubt) -> None:
        super().__init__(doubt.value)
        self.doubt = doubt


@dataclass(frozen=True, slots=True)
class SignOnRules:
    """What is asked of every sign-in at the provider.

    `claim` names what an account is called by when somebody is linked first. With `acr` the
    provider must name one of these classes, with `amr` each of these methods (OpenID Connect Core
    1.0, section 2; RFC 8176). `anew`: the person must have been asked since they pressed the
    button, so that on a shared device nobody gets in by whoever sat there before.
    """

    claim: str = "sub"
    acr: tuple[str, ...] = ()
    amr: tuple[str, ...] = ()
    anew: bool = True

    @property
    def ask_for_factors(self) -> bool:
        """Whether whoever comes has shown there all that this board wants to be shown."""
        return bool(self.acr or self.amr)


@dataclass(frozen=True, slots=True)
class SignOn:
    """A provider as a board is set to use it; `label` is what the ward calls it.

    `back` is where the provider sends people back to, and `home` after they signed out there.
    """

    issuer: str
    client_id: str
    client_secret: str = field(repr=False)
    back: str
    home: str
    label: str = "single sign-on"
    rules: SignOnRules = SignOnRules()


@dataclass(frozen=True, slots=True)
class Identity:
    """Whom a provider recognised: `subject` never changes there, `account` may."""

    issuer: str
    subject: str
    account: str


def identity_in(claims: Mapping[str, Any], rules: SignOnRules, begun_at: datetime) -> Identity:
    """Answer who it is by the claims of a token that was found sound. Raises `Doubted`."""
    _require_factors(claims, rules)
    if rules.anew:
        _require_anew(claims, begun_at)
    return Identity(claims["iss"], _subject(claims), _account(claims, rules.claim))


def _require_factors(claims: Mapping[str, Any], rules: SignOnRules) -> None:
    given = claims.get("amr")
    methods = given if isinstance(given, list) else []
    lacks_class = bool(rules.acr) and claims.get("acr") not in rules.acr
    if lacks_class or not all(one in methods for one in rules.amr):
        raise Doubted(Doubt.FACTOR)


def _require_anew(claims: Mapping[str, Any], begun_at: datetime) -> None:
    asked_at: Any = claims.get("auth_time")
    is_number = isinstance(asked_at, int | float) and not isinstance(asked_at, bool)
    # Said as what has to be so: no comparison with a NaN, which JSON can hold, is.
    if not (is_number and asked_at >= (begun_at - LEEWAY).timestamp()):
        raise Doubted(Doubt.NOT_ANEW)


def _subject(claims: Mapping[str, Any]) -> str:
    said = claims.get("sub")
    is_key = isinstance(said, str) and 0 < len(said) <= LONGEST_SUBJECT and said.isprintable()
    if not is_key:
        raise Doubted(Doubt.FORM)
    return str(said)


def _account(claims: Mapping[str, Any], claim: str) -> str:
    said = claims.get(claim)
    account = said.strip() if isinstance(said, str) else ""
    if not account or len(account) > LONGEST or not account.isprintable():
        raise Doubted(Doubt.ACCOUNT)
    # Whoever could enter another's address at the provider would be taken for them here.
    if claim == EMAIL and claims.get("email_verified") is not True:
        raise Doubted(Doubt.ACCOUNT)
    return account
