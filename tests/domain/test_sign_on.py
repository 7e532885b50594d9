"""What a provider has to say of somebody; the claims are those of a token that was found sound."""

from typing import Any, Final

import pytest

from server.domain.sign_on import LONGEST, Doubt, Doubted, Identity, SignOnRules, identity_in
from tests.domain.builders import at

BEGUN: Final = at(0)
CLAIMS: Final = {
    "iss": "https://provider.example",
    "sub": "s-1",
    "auth_time": BEGUN.timestamp() + 5,
    "preferred_username": "nina",
    "email": "nina@hospital.example",
    "email_verified": True,
    "acr": "two",
    "amr": ["pwd", "otp"],
}


def identified(rules: SignOnRules, **other: Any) -> Identity | Doubt:
    """Whom the claims name, or why they are doubted."""
    try:
        return identity_in(CLAIMS | other, rules, BEGUN)
    except Doubted as doubted:
        return doubted.doubt


@pytest.mark.parametrize(
    ("claim", "account"),
    [("sub", "s-1"), ("preferred_username", "nina"), ("email", "nina@hospital.example")],
)
def test_an_account_is_called_by_the_claim_that_is_set(claim: str, account: str) -> None:
    found = identified(SignOnRules(claim=claim))

    assert found == Identity("https://provider.example", "s-1", account)


@pytest.mark.parametrize("said", [None, "", " ", 7, ["nina"], "a\nb", "x" * (LONGEST + 1)])
def test_an_account_without_a_name_is_none(said: object) -> None:
    rules = SignOnRules(claim="preferred_username")

    assert identified(rules, preferred_username=said) is Doubt.ACCOUNT


@pytest.mark.parametrize("said", [None, "", 7, ["s-1"], "s-\0", "\ud800", "s" * 256])
def test_a_key_that_nothing_could_be_kept_under_is_none(said: object) -> None:
    """OpenID Connect Core 1.0, section 2: a text of at most 255 ASCII characters."""
    rules = SignOnRules(claim="preferred_username")

    assert identified(rules, sub=said) is Doubt.FORM
    assert isinstance(identified(rules, sub="s" * 255), Identity)


@pytest.mark.parametrize("verified", [False, None, "true", 1])
def test_an_address_that_nobody_verified_finds_nobody(verified: object) -> None:
    assert identified(SignOnRules(claim="email"), email_verified=verified) is Doubt.ACCOUNT


@pytest.mark.parametrize(
    ("rules", "claims", "doubt"),
    [
        (SignOnRules(acr=("two", "three")), {}, None),
        (SignOnRules(acr=("three",)), {}, Doubt.FACTOR),
        (SignOnRules(acr=("two",)), {"acr": ["two"]}, Doubt.FACTOR),
        (SignOnRules(acr=("two",)), {"acr": None}, Doubt.FACTOR),
        (SignOnRules(amr=("otp",)), {}, None),
        (SignOnRules(amr=("pwd", "otp")), {}, None),
        (SignOnRules(amr=("pwd", "hwk")), {}, Doubt.FACTOR),
        (SignOnRules(amr=("otp",)), {"amr": "otp"}, Doubt.FACTOR),
        (SignOnRules(amr=("otp",)), {"amr": None}, Doubt.FACTOR),
    ],
)
def test_one_class_and_every_method_that_is_asked_for_has_to_be_named(
    rules: SignOnRules, claims: dict[str, Any], doubt: Doubt | None
) -> None:
    found = identified(rules, **claims)

    assert (found if isinstance(found, Doubt) else None) == doubt


@pytest.mark.parametrize(
    ("asked_at", "counts"),
    [
        (BEGUN.timestamp() - 60, True),
        (BEGUN.timestamp() - 61, False),
        (10**400, True),  # more than a float can hold
        (float("nan"), False),
        (True, False),
        ("1", False),
        (None, False),
    ],
)
def test_who_was_asked_before_the_button_is_asked_again(asked_at: object, *, counts: bool) -> None:
    found = identified(SignOnRules(), auth_time=asked_at)
    elsewhere = identified(SignOnRules(anew=False), auth_time=asked_at)

    assert (found is not Doubt.NOT_ANEW, isinstance(elsewhere, Identity)) == (counts, True)


def test_factors_are_asked_for_where_a_class_or_a_method_is() -> None:
    rules = SignOnRules(), SignOnRules(acr=("two",)), SignOnRules(amr=("otp",))

    assert [one.ask_for_factors for one in rules] == [False, True, True]
