"""A hospital whose people sign in at a real provider, in a process of its own."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

import pytest
from httpx2 import Response

from server.clock import utc_now
from server.pages.visitors import COOKIE
from server.services.sso_open import open_provider
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import BADGES, PIN
from tests.provider.process import RunningProvider, onward_of, running_provider
from tests.services.people import ADMINISTRATOR, COLLEAGUE, NURSE

GO: Final = "elsewhere"
BACK: Final = "http://testserver/sign-in/back?"


@pytest.fixture(scope="module")
def provider() -> Iterator[RunningProvider]:
    with running_provider() as started:
        yield started


@pytest.fixture
def sso(shared: Hospital, provider: RunningProvider) -> Iterator[Hospital]:
    """The hospital with a provider, at which Nina's account is entered.

    Its clock shows the time, because the provider's does.
    """
    state, before = shared.app.state, shared.app.state.settings
    use(shared, provider, sso_claim="preferred_username")
    shared.clock.now = utc_now()
    provider.be()
    enter(shared, "nina")
    yield shared
    state.settings, state.provider = before, None


def use(hospital: Hospital, provider: RunningProvider, **other: Any) -> None:
    """Have the board use the provider, by these settings."""
    state = hospital.app.state
    state.settings = replace(state.settings, **provider.settings(**other))
    state.provider = open_provider(state.settings.sign_on)


def enter(hospital: Hospital, account: str, staff_id: str = NURSE.id) -> None:
    """Enter somebody's account as an administrator does."""
    here = f"/wards/w1/staff/{staff_id}/account"
    hospital.visit(ADMINISTRATOR).done(here, "account", account=account)


def at_a_desk(hospital: Hospital) -> Visit:
    """A browser at which Cleo signed in by her badge."""
    browser = hospital.visit()
    browser.done("/sign-in", "by-badge", badge=BADGES[COLLEAGUE.id], pin=PIN)
    return browser


def go(browser: Visit, path: str = "/sign-in") -> str:
    """Press the button; where the browser goes on to."""
    answer = browser.send(path, GO)
    assert answer.status_code == 200, answer.text[:500]
    return onward_of(answer.text)


def come_back(browser: Visit, back: str) -> Response:
    """Follow the provider's way back."""
    assert back.startswith(BACK)
    return browser.get(back.removeprefix("http://testserver"))


def sign_in(
    browser: Visit, provider: RunningProvider, name: str = "nina", path: str = "/sign-in"
) -> Response:
    """Go there, say who one is, and come back."""
    return come_back(browser, provider.visit(go(browser, path), name))


def why(answer: Response) -> tuple[int, str]:
    """Why nobody was let in, as the page with the other ways says it."""
    page = Page(answer.text)
    assert {form.key for form in page.forms} >= {"by-badge", "by-name", GO}
    assert COOKIE not in str(answer.headers)
    return answer.status_code, page.text.split("You are not signed in ")[1].split(" Sign in with")[
        0
    ]
