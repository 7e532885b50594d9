"""Sign in at a real provider, link an account, and sign out there too."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Final

import pytest

from server.clock import utc_now
from server.pages.visitors import COOKIE
from server.services.sso_open import open_provider
from server.settings import Settings
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import who
from tests.provider.process import RunningProvider, onward_of, running_provider
from tests.services.people import ADMINISTRATOR, CHARGE, COLLEAGUE, NURSE

GO: Final = "elsewhere"
HERE: Final = "http://testserver"
ALERT: Final = "You are not signed in"


@pytest.fixture(scope="module")
def provider() -> Iterator[RunningProvider]:
    with running_provider() as started:
        yield started


@pytest.fixture
def sso(shared: Hospital, provider: RunningProvider) -> Iterator[Hospital]:
    """The hospital with a provider; its clock shows the time, since the provider's does."""
    before, state = shared.app.state.settings, shared.app.state
    state.settings = replace(before, **provider.settings(sso_claim="preferred_username"))
    state.provider = open_provider(state.settings.sign_on)
    shared.clock.now = utc_now().replace(microsecond=0)
    provider.be()
    yield shared
    state.settings, state.provider = before, None


def enter(hospital: Hospital, account: str, staff_id: str = NURSE.id) -> None:
    """Enter somebody's account as an administrator does."""
    here = f"/wards/w1/staff/{staff_id}/account"
    hospital.visit(ADMINISTRATOR).done(here, "account", account=account)


def go(browser: Visit, path: str = "/sign-in") -> str:
    """Press the button; where the browser goes on to."""
    answer = browser.send(path, GO)
    assert answer.status_code == 200, answer.text[:500]
    return onward_of(answer.text)


def test_somebody_whose_account_is_entered_signs_in(
    sso: Hospital, provider: RunningProvider
) -> None:
    enter(sso, "nina")
    browser = sso.visit()
    before = browser.see("/sign-in?next=/mine")

    back = provider.visit(go(browser, "/sign-in?next=/mine"), "nina")
    answer = browser.get(back.removeprefix(HERE))

    cookie = next(one for one in answer.headers.get_list("set-cookie") if one.startswith(COOKIE))
    assert "Sign in with the staff login" in before.html
    assert back.startswith(f"{HERE}/sign-in/back?")
    assert (answer.status_code, answer.headers["location"]) == (303, "/mine")
    assert answer.headers["cache-control"] == "no-store"
    assert all(rule in cookie for rule in ("HttpOnly", "SameSite=lax", "Path=/", "Max-Age=46800"))
    assert who(browser) == (NURSE.id, False)
