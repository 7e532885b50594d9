"""A page at the station for all tests of a file, and units that are to be issued there."""

from collections.abc import Callable, Iterator
from itertools import count
from typing import Final

import pytest
from playwright.sync_api import Browser, Page

from seed_demo.staff import PASSWORD
from server.clock import utc_now
from server.domain.words import Component, Role
from server.services.actor import Actor
from server.services.open_episode import EpisodeDraft, open_episode
from server.store.store import Store
from tests.browser.conftest import PATIENCE_MS
from tests.browser.ward import WARD, Ward

PROGRAM: Final = Actor("scans", "Blood bank", Role.INTERFACE, None)
NUMBERS: Final = count(1)


@pytest.fixture(scope="module")
def patient(ward: Ward) -> str:
    """Somebody on the ward."""
    store = Store(ward.database)
    with store.read() as session:
        rows = session.plain("SELECT patient_id FROM episode ORDER BY id LIMIT 1")
    store.close()
    return str(rows[0][0])


@pytest.fixture
def new_unit(ward: Ward, patient: str) -> Callable[[], str]:
    """Ask for another unit; the address of its page."""

    def make() -> str:
        store, name = Store(ward.database), f"scan-{next(NUMBERS)}"
        draft = EpisodeDraft(name, patient, WARD, "7", Component.RED_CELLS, 280.0)
        with store.write() as session:
            open_episode(session, PROGRAM, draft, now=utc_now())
        store.close()
        return f"/episodes/{name}"

    return make


@pytest.fixture(scope="module")
def station(browser: Browser, ward: Ward) -> Iterator[Page]:
    """A page of somebody who is signed in, for all tests here."""
    context = browser.new_context(base_url=ward.address, viewport={"width": 1280, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").fill("charge")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/board")
    yield page
    context.close()
