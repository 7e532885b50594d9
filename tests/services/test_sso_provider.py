"""A real provider, in a process of its own: how it is asked, and what it may do wrong."""

import asyncio
from dataclasses import replace
from secrets import token_urlsafe
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from server.domain.sign_on import Doubted
from server.services.sso_check import provider_in_words
from server.services.sso_open import open_provider
from server.services.sso_provider import Provider, scope_for
from server.services.sso_refusals import LibraryMissing, ProviderAway, ProviderRefused
from tests.ports import free_port
from tests.services.sso_board import RULES, Board, an_errand, board, doubts, running

__all__ = ["board", "running"]


def test_the_provider_is_asked_for_what_the_board_needs(board: Board) -> None:
    asking = replace(board.provider.sign_on, rules=replace(RULES, acr=("two", "three")))
    errand = an_errand()

    address = asyncio.run(Provider(asking).address_of(errand))

    said = {name: texts[0] for name, texts in parse_qs(urlsplit(address).query).items()}
    challenge = said.pop("code_challenge")
    assert (len(challenge), errand.verifier in address) == (43, False)
    assert said == {
        "response_type": "code",
        "client_id": "board",
        "redirect_uri": "http://testserver/sign-in/back",
        "scope": "openid profile",
        "state": errand.state,
        "nonce": errand.nonce,
        "code_challenge_method": "S256",
        "prompt": "login",
        "max_age": "0",
        "acr_values": "two three",
    }


@pytest.mark.parametrize(
    ("claim", "scope"),
    [("sub", "openid"), ("email", "openid email"), ("employee_number", "openid profile")],
)
def test_the_scope_follows_the_claim(claim: str, scope: str) -> None:
    """Which scope has which claims: OpenID Connect Core 1.0, section 5.4."""
    assert scope_for(claim) == scope


def test_a_code_is_redeemed_once_and_by_whoever_began(board: Board) -> None:
    errand, code, issuer = board.fetch()
    board.recognise(errand, code, issuer)
    theirs, stolen, _ = board.fetch()

    for whose, which in (
        (errand, code),  # again
        (errand, "made up"),
        (replace(theirs, verifier=token_urlsafe(32)), stolen),  # RFC 7636, section 4.6
    ):
        with pytest.raises(ProviderRefused, match="invalid_grant"):
            board.recognise(whose, which, issuer)


def test_the_client_secret_is_said_as_the_provider_wants_it(board: Board) -> None:
    board.running.be(auth_method="client_secret_post")
    assert doubts(board) is None
    wrong = replace(board.provider.sign_on, client_secret="another")

    with pytest.raises(ProviderRefused, match="invalid_client"):
        Board(board.running, Provider(wrong)).come()


def test_an_answer_of_another_provider_is_refused_before_its_code_is_sent(board: Board) -> None:
    """RFC 9207, section 2.4."""
    errand, code, issuer = board.fetch()
    for other in ("https://another.example", ""):
        with pytest.raises(Doubted, match="issuer"):
            board.recognise(errand, code, other)

    assert board.recognise(errand, code, issuer).account == "nina"
    board.running.be(card_too={"authorization_response_iss_parameter_supported": False})
    plain = Board(board.running, Provider(board.provider.sign_on))
    errand, code, _ = plain.fetch()
    assert plain.recognise(errand, code, "").account == "nina"


@pytest.mark.parametrize(
    ("mood", "why"),
    [
        ({"card": {"issuer": "https://another.example"}}, "it calls itself by another address"),
        ({"card": []}, "it answered what cannot be read"),
        ({"card_too": {"token_endpoint": "ftp://127.0.0.1"}}, "it names no sound token_endpoint"),
        ({"card_too": {"jwks_uri": None}}, "it names no sound jwks_uri"),
        ({"hangs": "card"}, "no answer within 0.5 s"),
    ],
)
def test_a_provider_that_cannot_be_relied_on_is_not_gone_to(
    board: Board, mood: dict[str, Any], why: str
) -> None:
    board.running.be(**mood)
    patience = 0.5 if "hangs" in mood else 60

    with pytest.raises(ProviderAway, match=why):
        asyncio.run(Provider(board.provider.sign_on, patience=patience).greet())


@pytest.mark.parametrize(
    ("mood", "why"),
    [
        ({"hangs": "token"}, "no answer within 0.5 s"),
        ({"token": "<p>busy</p>", "status": 500}, "the connection broke, or it answered"),
        ({"token": "<p>busy</p>"}, "it answered what cannot be read"),
    ],
)
def test_a_provider_that_breaks_off_recognises_nobody(
    board: Board, mood: dict[str, Any], why: str
) -> None:
    patience = 0.5 if "hangs" in mood else 60
    other = Board(board.running, Provider(board.provider.sign_on, patience=patience))
    fetched = board.fetch()
    board.running.be(**mood)

    with pytest.raises(ProviderAway, match=why):
        other.recognise(*fetched)


@pytest.mark.parametrize("where", ["card", "jwks"])
@pytest.mark.parametrize(
    ("how", "why"),
    [
        ("pours", "it answered more than 1 000 000 bytes"),
        ("packs", "it answered what cannot be read"),
    ],
)
def test_a_provider_that_sends_without_end_is_read_no_further(
    board: Board, where: str, how: str, why: str
) -> None:
    board.running.be(**{how: where})

    with pytest.raises(ProviderAway, match=why):
        asyncio.run(Provider(board.provider.sign_on, patience=60).greet())


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ("pours", "it answered more than 1 000 000 bytes"),
        ("packs", "it answered what cannot be read"),
    ],
)
def test_a_token_without_end_recognises_nobody(board: Board, how: str, why: str) -> None:
    patient = Board(board.running, Provider(board.provider.sign_on, patience=60))
    fetched = patient.fetch()
    board.running.be(**{how: "token"})

    with pytest.raises(ProviderAway, match=why):
        patient.recognise(*fetched)


def test_an_answer_without_a_token_recognises_nobody(board: Board) -> None:
    fetched = board.fetch()
    board.running.be(token="{}")

    with pytest.raises(Doubted, match="signature"):
        board.recognise(*fetched)


def test_a_provider_that_is_not_there_is_away(board: Board) -> None:
    nowhere = replace(board.provider.sign_on, issuer=f"http://127.0.0.1:{free_port()}")

    with pytest.raises(ProviderAway, match="no connection"):
        asyncio.run(Provider(nowhere).address_of(an_errand()))


def test_one_signs_out_at_the_provider_too_where_it_has_a_place_for_that(board: Board) -> None:
    """OpenID Connect RP-Initiated Logout 1.0, section 2."""
    leaving = asyncio.run(board.provider.leaving_address("a.b.c"))
    board.running.be(keeps_people=True)
    nowhere = asyncio.run(Provider(board.provider.sign_on).leaving_address("a.b.c"))

    said = parse_qs(urlsplit(leaving).query)
    assert leaving.startswith(f"{board.running.issuer}/leave?")
    assert said == {
        "id_token_hint": ["a.b.c"],
        "client_id": ["board"],
        "post_logout_redirect_uri": ["http://testserver/sign-in"],
    }
    assert nowhere == ""


def test_whether_the_provider_could_be_used_is_said_in_words(board: Board) -> None:
    sign_on, nowhere = board.provider.sign_on, f"http://127.0.0.1:{free_port()}"

    found = [
        provider_in_words(sign_on),
        provider_in_words(replace(sign_on, issuer=nowhere)),
        provider_in_words(sign_on, "no_such_library"),
    ]

    assert found == [
        (f"{sign_on.issuer} answers, and says what it has to", True),
        (f"{nowhere} cannot be used: no connection", False),
        ("needs the extra sso: pip install 'fourth-hour[sso]' (no_such_library)", False),
    ]


def test_a_board_without_the_extra_says_what_is_missing(board: Board) -> None:
    assert open_provider(board.provider.sign_on).sign_on == board.provider.sign_on
    with pytest.raises(LibraryMissing, match="no_such_library"):
        open_provider(board.provider.sign_on, "no_such_library")
