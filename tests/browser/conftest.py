"""A real Chromium, a real server, and people who sign in."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Playwright,
    expect,
    sync_playwright,
)

from seed_demo.staff import PASSWORD
from server.store.store import Store
from tests.browser.bedside import Bedside
from tests.browser.ward import Ward, served_ward
from tests.chromium import chromium_path

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE_MS = 60_000
"""What does not come at all takes so long to be told; a busy machine needs some of it."""


SignIn = Callable[..., Page]
NewBrowser = Callable[..., BrowserContext]


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    path = chromium_path(playwright)
    started = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
    yield started
    started.close()


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    folder: Path = tmp_path_factory.mktemp("ward")
    with served_ward(folder) as served:
        yield served


@pytest.fixture
def store(ward: Ward) -> Iterator[Store]:
    """The database of the running server."""
    opened = Store(ward.database)
    yield opened
    opened.close()


@pytest.fixture
def unit(ward: Ward) -> Iterator[Bedside]:
    """A unit that was asked for, of a patient of the ward."""
    bedside = Bedside(ward)
    yield bedside
    bedside.close()


@pytest.fixture
def context(browser: Browser, ward: Ward) -> Iterator[NewBrowser]:
    """Make a browser of somebody's own; closed at the end."""
    made: list[BrowserContext] = []

    def make(**options: Any) -> BrowserContext:
        settings: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}} | options
        made.append(browser.new_context(base_url=ward.address, **settings))
        made[-1].set_default_timeout(PATIENCE_MS)
        return made[-1]

    yield make
    for one in made:
        one.close()


@pytest.fixture
def sign_in(context: NewBrowser) -> SignIn:
    """Sign somebody in, in a browser of their own, and answer the page they land on."""

    def enter(name: str, **options: Any) -> Page:
        page = context(**options).new_page()
        page.goto("/sign-in")
        page.get_by_label("Name you sign in with").fill(name)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in", exact=True).click()
        page.wait_for_url(lambda address: "/sign-in" not in address)
        return page

    return enter
