"""Sign in at a real provider in a real browser, with scripts and without, and out of both."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, Page, expect

from server.clock import utc_now
from server.domain.sign_on import SignOn, SignOnRules
from server.services.enter_staff import enter_staff
from server.services.sso_links import enter_link
from server.store.migrate import migrate
from server.store.store import Store
from tests.browser.test_every_page import _faults
from tests.browser.ward import serving
from tests.ports import free_port
from tests.provider.process import RunningProvider, running_provider
from tests.services.people import ADMINISTRATOR, NURSE, enter_everybody, staff_draft

PASSWORD: Final = "kettle orbit lantern moss"
SIGN_IN: Final = "Sign in with the staff login"
ACCOUNT: Final = "/wards/w1/staff/nurse-1/account"
NewPage = Callable[..., Page]


@dataclass(frozen=True)
class Board:
    """A running board that uses a provider, and that provider."""

    address: str
    provider: RunningProvider


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Board]:
    """Nina's account is entered; an administrator has a password."""
    folder: Path = tmp_path_factory.mktemp("board")
    port, database = free_port(), f"sqlite:///{folder / 'board.db'}"
    address = f"http://127.0.0.1:{port}"
    with running_provider(address) as provider, pytest.MonkeyPatch.context() as patch:
        _enter(database, provider.issuer)
        settings = provider.settings(public_address=address, sso_claim="preferred_username")
        for name, text in settings.items():
            patch.setenv(f"FOURTH_HOUR_{name.upper()}", text)
        with serving(database, port, folder / "log"):
            yield Board(address, provider)


def _enter(database: str, issuer: str) -> None:
    migrate(database)
    store, now = Store(database), utc_now()
    enter_everybody(store)
    rules = SignOnRules(claim="preferred_username")
    with store.write() as session:
        draft = replace(staff_draft(ADMINISTRATOR), sign_in_name="admin", password=PASSWORD)
        enter_staff(session, ADMINISTRATOR, draft, now=now)
        sign_on = SignOn(issuer, "board", "", "", "", rules=rules)
        enter_link(session, ADMINISTRATOR, sign_on, NURSE.id, "nina", now=now)
    store.close()


@pytest.fixture
def new_page(browser: Browser, board: Board) -> Iterator[NewPage]:
    """A page in a browser of its own."""
    made = []

    def make(*, scripts: bool = True) -> Page:
        made.append(browser.new_context(base_url=board.address, java_script_enabled=scripts))
        return made[-1].new_page()

    yield make
    for one in made:
        one.close()


def _say_who(page: Page, board: Board) -> None:
    """At the provider: say who one is."""
    page.wait_for_url(f"{board.provider.issuer}/**")
    page.get_by_label("Name").fill("nina")
    page.get_by_role("button", name="It is me").click()


def test_one_goes_there_and_comes_back_signed_in_by_keyboard_and_out_of_both(
    board: Board, new_page: NewPage
) -> None:
    page, said = new_page(), []
    page.on(
        "console", lambda one: said.append(one.text) if "Content Security" in one.text else None
    )
    page.goto("/sign-in?next=/my-sign-in")

    page.get_by_role("button", name=SIGN_IN).focus()
    page.keyboard.press("Enter")
    _say_who(page, board)
    page.wait_for_url(f"{board.address}/my-sign-in")
    expect(page.locator(".top .signed-in")).to_contain_text("Nina Nurse")
    expect(page.get_by_role("heading", name="Account at the staff login")).to_be_visible()
    kept = {one["name"]: one["httpOnly"] for one in page.context.cookies(board.address)}
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{board.address}/sign-in")

    page.get_by_role("button", name=SIGN_IN).click()
    page.wait_for_url(f"{board.provider.issuer}/**")
    expect(page.get_by_role("heading", name="Who are you?")).to_be_visible()
    assert (kept["fourth_hour_session"], kept["fourth_hour_visit"]) == (True, True)
    assert [words for words in said if "Content Security Policy" in words] == []


def test_it_works_without_scripts_and_asks_anew_where_somebody_sat_before(
    board: Board, new_page: NewPage
) -> None:
    page = new_page(scripts=False)
    for _ in range(2):
        page.goto("/sign-in?next=/mine")
        page.get_by_role("button", name=SIGN_IN).click()
        _say_who(page, board)
        page.wait_for_url(f"{board.address}/mine")

    expect(page.locator(".top .signed-in")).to_contain_text("Nina Nurse")


def test_its_pages_have_no_violation_and_fit_their_window(board: Board, new_page: NewPage) -> None:
    page = new_page()
    page.goto("/sign-in")
    found = _faults(page, "/sign-in")
    page.goto("/sign-in/back?state=x&code=y")
    found |= _faults(page, "/sign-in/back")
    page.get_by_label("Name you sign in with").fill("admin")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"{board.address}/wards")
    for address in (ACCOUNT, "/wards/w1/staff", "/my-sign-in"):
        page.goto(address)
        found |= _faults(page, address)

    assert found == {}
