"""What a real provider says of somebody, and everything that is not believed of it."""

import asyncio
from dataclasses import replace
from datetime import timedelta
from typing import Final

from server.domain.sign_on import Doubt, Identity
from server.services.sso_provider import Provider
from tests.services.sso_board import (
    RULES,
    Board,
    an_errand,
    board,
    doubts,
    running,
    sign_on_of,
)

__all__ = ["board", "running"]

DOUBTED: Final = {
    "nonce": Doubt.NONCE,
    "no nonce": Doubt.NONCE,
    "issuer": Doubt.ISSUER,
    "audience": Doubt.AUDIENCE,
    "audiences": Doubt.AUDIENCE,
    "party": Doubt.AUDIENCE,
    "expired": Doubt.TIME,
    "of the future": Doubt.TIME,
    "access token": Doubt.SIGNATURE,
    "no subject": Doubt.FORM,
    "methods": Doubt.FORM,
    "asked long ago": Doubt.NOT_ANEW,
    "asked nobody knows when": Doubt.NOT_ANEW,
    "never asked": Doubt.NOT_ANEW,
    "unsigned": Doubt.SIGNATURE,
    "by secret": Doubt.SIGNATURE,
    "by another": Doubt.SIGNATURE,
    "no token": Doubt.SIGNATURE,
}


def test_somebody_is_recognised_by_the_providers_own_key(board: Board) -> None:
    assert board.come("nina") == Identity(board.running.issuer, "s-nina", "nina")


def test_no_token_is_believed_that_strays_from_the_standard(board: Board) -> None:
    """Each row of OpenID Connect Core 1.0, section 3.1.3.7, as far as a board meets it."""
    found = {}
    for spoil in DOUBTED:
        board.running.be(spoil=spoil)
        found[spoil] = doubts(board)

    board.running.be()
    assert (found, doubts(board)) == (DOUBTED, None)


def test_clocks_may_differ_by_a_minute(board: Board) -> None:
    hour, half = timedelta(hours=1), timedelta(seconds=30)

    found = [doubts(board, late=late) for late in (-2 * hour, -half, half, 2 * hour)]

    assert found == [Doubt.TIME, None, None, Doubt.TIME]


def test_a_second_factor_that_is_asked_for_has_to_be_named(board: Board) -> None:
    rules = replace(RULES, acr=("urn:example:two",), amr=("mfa",))
    strict = Board(board.running, Provider(sign_on_of(board.running, rules)))

    found = []
    for mood in ({}, {"acr": "urn:example:one"}, {"amr": ["pwd"]}):
        board.running.be(**mood)
        found.append(doubts(strict))

    assert found == [None, Doubt.FACTOR, Doubt.FACTOR]


def test_where_every_device_is_ones_own_nobody_is_asked_twice(board: Board) -> None:
    rules = replace(RULES, anew=False)
    lenient = Board(board.running, Provider(sign_on_of(board.running, rules)))
    board.running.be(spoil="asked long ago")

    address = asyncio.run(lenient.provider.address_of(an_errand()))

    assert ("prompt=" in address, "max_age=" in address) == (False, False)
    assert lenient.come() == Identity(board.running.issuer, "s-nina", "nina")


def test_a_provider_may_change_its_keys(board: Board) -> None:
    board.come()

    board.running.change_keys()

    assert [doubts(board), doubts(board)] == [None, None]
