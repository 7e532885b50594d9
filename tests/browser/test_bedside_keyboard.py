"""From a fresh unit to its start with the keyboard alone: no pointer, no scanner."""

from playwright.sync_api import Page, expect

from seed_demo.staff import PASSWORD
from server.domain.payloads import Started
from server.store.store import Store
from tests.browser.bedside import Bedside
from tests.browser.conftest import SignIn
from tests.browser.hand import SIGNS, recorded
from tests.browser.scanner import Wedge
from tests.browser.test_bedside import is_read

FAR = 60
FOCUSED = "document.activeElement.matches('a, button') ? document.activeElement.innerText : ''"


def go_to(page: Page, words: str) -> None:
    """Tab on to the control with these words."""
    for _ in range(FAR):
        if words in page.evaluate(FOCUSED):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{words!r} is not reached by Tab")


def press(page: Page, words: str) -> None:
    """Tab on to a control and press it."""
    go_to(page, words)
    page.keyboard.press("Enter")


def read_all(page: Page, unit: Bedside) -> None:
    """Key in what band and bag say, and confirm what the patient says."""
    hands = Wedge(page)
    for count, code in zip((1, 3, 4), (unit.band, *unit.labels), strict=True):
        expect(page.locator("#i-scan")).to_be_focused()
        hands.by_hand(code, "Enter")
        is_read(page, count)
    press(page, "The patient says both")


def test_the_keyboard_alone_brings_a_fresh_unit_to_its_start(
    sign_in: SignIn, unit: Bedside, store: Store
) -> None:
    unit.issue()
    page = sign_in("agnes")
    page.goto(f"/episodes/{unit.id}")

    with recorded(store) as facts:
        press(page, "Confirm all 3; received, bag sound")
        expect(page.locator("#fold-identity > summary")).to_be_focused()
        press(page, "Check identity at the bedside")
        page.wait_for_url("**/identity")
        read_all(page, unit)
        expect(page.get_by_label("Badge of the second person")).to_be_focused()
        for text, key in (("", "Tab"), ("", "Tab"), ("bo", "Tab"), (PASSWORD, "Enter")):
            page.keyboard.type(text, delay=90)  # no badge and no PIN: by name and password
            page.keyboard.press(key)
        expect(page.locator("#now-title")).to_contain_text("Bo Ek reads")
        read_all(page, unit)
        expect(page.locator("#fold-baseline > summary")).to_be_focused()
        page.keyboard.press("Tab")
        for digits in SIGNS.values():
            page.keyboard.type(digits, delay=20)
            page.wait_for_timeout(50)
        press(page, "Record the observations")
        expect(page.locator("#fold-line > summary")).to_be_focused()
        press(page, "Spiked, new set primed")
        expect(page.locator("#fold-start > summary")).to_be_focused()
        press(page, "Record the start")
        expect(page.locator("#fold-first > summary")).to_be_focused()

    said = [one.event.payload for one in facts if one.event.episode_id == unit.id]
    assert [one.rate_ml_h for one in said if isinstance(one, Started)] == [60.0]
