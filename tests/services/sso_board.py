"""A board that uses a real provider, in a process of its own; times are those of the wall.

Each `come` is a whole sign-in of one person.
"""

import asyncio
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from secrets import token_urlsafe
from typing import Any, Final
from urllib.parse import parse_qs, urlsplit

import pytest

from server.clock import utc_now
from server.domain.sign_on import Doubt, Doubted, Identity, SignOn, SignOnRules
from server.services.sso_begun import Errand
from server.services.sso_provider import Provider
from server.settings import Settings
from server.store.sso import Begun
from tests.provider.process import RunningProvider, running_provider

RULES: Final = SignOnRules(claim="preferred_username")


@dataclass(frozen=True)
class Board:
    """A board that uses the provider; each `come` is a whole sign-in of one person."""

    running: RunningProvider
    provider: Provider

    def come(self, name: str = "nina", **other: Any) -> Identity:
        """Go there, say who one is, come back, and be recognised."""
        return self.recognise(*self.fetch(name), **other)

    def fetch(self, name: str = "nina") -> tuple[Errand, str, str]:
        """Go there and come back: what was begun, the code, and whose answer it says it is."""
        errand = an_errand()
        back = self.running.visit(asyncio.run(self.provider.address_of(errand)), name)
        said = parse_qs(urlsplit(back).query)
        assert said["state"] == [errand.state]
        return errand, said["code"][0], said["iss"][0]

    def recognise(
        self, errand: Errand, code: str, issuer: str, *, late: timedelta = timedelta(0)
    ) -> Identity:
        """Redeem a code, by a clock that is so much ahead."""
        now = utc_now() + late
        return asyncio.run(self.provider.recognise(errand, code, issuer, now=now)).identity


def an_errand() -> Errand:
    """A sign-in that is begun just now."""
    state, nonce, verifier = (token_urlsafe(32) for _ in range(3))
    return Errand(Begun("/", None, utc_now()), state, nonce, verifier)


def sign_on_of(running: RunningProvider, rules: SignOnRules = RULES) -> SignOn:
    """How a board is set to use it."""
    made = Settings(**running.settings()).sign_on
    assert made is not None
    return replace(made, rules=rules)


@pytest.fixture(scope="module")
def running() -> Iterator[RunningProvider]:
    with running_provider() as started:
        yield started


@pytest.fixture
def board(running: RunningProvider) -> Board:
    running.be()
    return Board(running, Provider(sign_on_of(running)))


def doubts(board: Board, **other: Any) -> Doubt | None:
    """Why somebody who comes is not believed."""
    try:
        board.come(**other)
    except Doubted as doubted:
        return doubted.doubt
    return None
