"""A thumb on a phone that counts its touches, and what is recorded meanwhile."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Locator, Page, expect

from server.store.log import Logged, events_after, last_position
from server.store.store import Store
from tests.browser.scanner import Wedge

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
SIGNS = {
    "temperature_c": "36.9",
    "pulse_per_min": "82",
    "respirations_per_min": "16",
    "systolic_mmhg": "124",
    "diastolic_mmhg": "76",
}


@contextmanager
def recorded(store: Store) -> Iterator[list[Logged]]:
    """What is recorded meanwhile, filled in at the end of the block."""
    found: list[Logged] = []
    with store.read() as session:
        before = last_position(session)
    yield found
    with store.read() as session:
        found += events_after(session, before)


class Hand:
    """A thumb that counts its touches; digits typed into the field with the cursor cost none."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.touches = 0

    def touch(self, target: Locator) -> None:
        """Touch once."""
        target.scroll_into_view_if_needed()
        target.tap()
        self.touches += 1

    def scan(self, wedge: Wedge, text: str) -> None:
        """Read one code with the scanner."""
        wedge.read(text, "Enter")
        self.touches += 1

    def fill(self, target: Locator, text: str) -> None:
        """Type a field: one act, whatever its length."""
        target.fill(text)
        self.touches += 1

    def type(self, name: str, digits: str) -> None:
        """Type a value; a touch more where the cursor is not in the field already."""
        if self.page.evaluate("document.activeElement.name") != name:
            self.touch(
                self.page.locator(f"form.arrived [name={name}], [name={name}]:visible").first
            )
        self.page.keyboard.type(digits)


def observe_from_list(page: Page, hand: Hand) -> None:
    """From the list to a typed set of observations; not sent."""
    page.goto("/mine")
    hand.touch(page.locator(".task-link[href*='do=observed']").first)
    page.wait_for_url("**/episodes/**")
    expect(page.locator("[name=temperature_c]:visible").first).to_be_focused()
    for name, digits in SIGNS.items():
        hand.type(name, digits)


def record_button(page: Page) -> Locator:
    """The button of the form that has the cursor."""
    form = page.locator("form.event.observed:has(:focus)")
    return form.get_by_role("button", name=re.compile("Record", re.IGNORECASE)).first
