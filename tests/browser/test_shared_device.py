"""One device, many people: a badge changes the person, an idle page locks, nothing is lost."""

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from seed_demo.badges import PIN, SIGN_IN, badge_of, give_badges
from seed_demo.staff import PASSWORD
from server.clock import utc_now
from server.key_file import read_key
from server.services.board_key import BoardKey
from server.settings import Settings
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE, recorded
from tests.browser.scanner import Wedge
from tests.browser.ward import Ward

BADGE = {person.sign_in_name: badge_of(person) for person in SIGN_IN}
PULSE = "form.observed:visible [name=pulse_per_min]"
COVER = "#lock"
CHANGE = "#change"
IDLE = "10:05"  # of the page's own clock: a little more than the ten minutes of the default


@pytest.fixture(scope="module", autouse=True)
def _badges(ward: Ward) -> None:
    store = Store(ward.database)
    give_badges(store, BoardKey(read_key(Settings(database=ward.database))), now=utc_now())
    store.close()


def _at_a_set(page: Page) -> str:
    """Open a set of observations and type a pulse; the address."""
    page.goto("/mine")
    page.locator(".task-link[href*='do=observed']").first.click()
    page.wait_for_url("**/episodes/**")
    expect(page.locator(PULSE).first).to_be_visible()
    page.locator(PULSE).first.fill("83")
    return page.url


def _change(page: Page, pin: str) -> None:
    page.locator(f"{CHANGE} [name=pin]").fill(pin)
    page.locator(CHANGE).get_by_role("button", name="Change person").click()


def _is_out_of_reach(page: Page) -> bool:
    """Whether the page behind the cover is out of sight and out of reach."""
    hidden: bool = page.evaluate(
        "[...document.body.children].filter(one => one.id !== 'lock' && one.id !== 'change')"
        ".every(one => one.inert && getComputedStyle(one).visibility === 'hidden')"
    )
    return hidden


def test_a_scanned_badge_changes_the_person_and_what_was_typed_waits_for_its_own(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("ines")
    address = _at_a_set(page)
    wedge = Wedge(page)

    with recorded(store) as facts:
        wedge.read(BADGE["bo"], "Enter")
        expect(page.locator(f"{CHANGE} [name=pin]")).to_be_focused()
        assert _is_out_of_reach(page)
        _change(page, "480252")
        expect(page.locator(CHANGE)).to_contain_text("do not belong together")
        _change(page, PIN)
        expect(page.locator(".top .signed-in")).to_contain_text("Bo Ek")
        expect(page.locator(PULSE).first).to_be_visible()
        theirs = [one.input_value() for one in page.locator("[name=pulse_per_min]").all()]
        wedge.read(BADGE["ines"], "Enter")
        _change(page, PIN)
        expect(page.locator(".top .signed-in")).to_contain_text("Inês")
        expect(page.locator(".unsent")).to_contain_text("You left it typed at")

    assert (page.url.partition("#")[0], set(theirs)) == (address.partition("#")[0], {""})
    assert page.locator("form.is-unsent [name=pulse_per_min]").input_value() == "83"
    assert facts == []


def test_an_idle_page_locks_and_unlocks_with_everything_in_place(sign_in: SignIn) -> None:
    page = sign_in("mateus", **PHONE)
    page.clock.install()
    address = _at_a_set(page)
    loaded = page.evaluate("performance.timeOrigin")

    with page.expect_response("**/lock"):
        page.clock.fast_forward(IDLE)
    expect(page.locator(COVER)).to_be_visible()
    assert _is_out_of_reach(page)
    expect(page.locator(f"{COVER} [name=secret]")).to_be_focused()
    for path in ("/mine", address):
        answer = page.request.get(path, max_redirects=0)
        assert (answer.status, answer.headers["location"][:7]) == (303, "/locked")
    for digit in PIN:
        page.locator(f"{COVER} [data-key='{digit}']").tap()
    sizes = [one.bounding_box() for one in page.locator(f"{COVER} .digit").all()]
    page.get_by_role("button", name="Unlock").tap()

    expect(page.locator(COVER)).to_be_hidden()
    assert page.locator(PULSE).first.input_value() == "83"
    assert page.evaluate("performance.timeOrigin") == loaded
    assert min(min(box["width"], box["height"]) for box in sizes if box) >= 44
    page.locator("form.observed:visible [name=temperature_c]").first.fill("36.9")
    page.get_by_role("button", name="Record the observations").first.tap()
    expect(page.locator("#recorded, .summary-of-errors").first).to_be_visible()
    expect(page.locator("body")).not_to_contain_text("signed in again since this form was opened")


def test_a_lock_of_one_page_covers_the_others_of_the_browser(sign_in: SignIn) -> None:
    page = sign_in("priya")
    other = page.context.new_page()
    other.goto("/mine")

    page.get_by_role("button", name="Lock").click()
    expect(other.locator(COVER)).to_be_visible()
    page.locator(f"{COVER} [name=secret]").fill(PASSWORD)
    page.keyboard.press("Enter")

    for one in (page, other):
        expect(one.locator(COVER)).to_be_hidden()
    other.get_by_role("button", name="Lock").click()
    expect(page.locator(COVER)).to_be_visible()


def test_somebody_else_takes_a_locked_device_over(sign_in: SignIn) -> None:
    page = sign_in("agnes")
    page.get_by_role("button", name="Lock").click()
    expect(page.locator(COVER)).to_be_visible()

    Wedge(page).read(BADGE["bo"], "Enter")
    expect(page.locator(f"{CHANGE} [name=pin]")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator(COVER)).to_be_visible()
    Wedge(page).read(BADGE["charge"], "Tab")
    _change(page, PIN)

    expect(page.locator(".top .signed-in")).to_contain_text("Róisín")
    expect(page.locator(COVER)).to_be_hidden()


def test_a_badge_on_the_page_to_sign_in_on_asks_for_the_pin(
    context: Callable[..., BrowserContext],
) -> None:
    page = context().new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").focus()

    Wedge(page).read(BADGE["bo"], "Enter")

    expect(page.get_by_label("PIN", exact=True)).to_be_focused()
    assert page.get_by_label("Name you sign in with").input_value() == ""
    page.get_by_label("PIN", exact=True).fill(PIN)
    page.get_by_role("button", name="Use badge and PIN").click()
    page.wait_for_url("**/mine")
