"""What is touched beside a bed is 44 px high, also with letters of twice the size."""

import pytest
from playwright.sync_api import Page

from server.domain.payloads import Inspected, Received
from tests.browser.bedside import Bedside
from tests.browser.conftest import SignIn
from tests.browser.test_pathway import CHECKED

SMALL = """() => {
  const typed = 'input:not([type=hidden], [type=radio], [type=checkbox])';
  const touched = `:is(a, button, select, summary, .choice, ${typed})`;
  const isInSentence = (one) =>
    one.matches('a:not(.button)') && getComputedStyle(one).display === 'inline';
  return [...document.querySelectorAll(touched)]
    .filter((one) => one.checkVisibility() && !isInSentence(one))
    .filter((one) => one.getBoundingClientRect().height < 43.5)
    .map((one) => one.outerHTML.slice(0, 90));
}"""
SKIP = "() => document.querySelector('.skip').getBoundingClientRect().height >= 43.5"
UNFOLD = "() => document.querySelectorAll('details').forEach((one) => { one.open = true; })"
TORN = """() => [...document.querySelectorAll(
    '.clock-what b, .task .words, .unit-words, .top .ward span')]
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().width < 24)
  .map((one) => one.textContent)"""
TOO_WIDE = "document.documentElement.scrollWidth - innerWidth"


def faults(page: Page, address: str) -> list[object]:
    """What is too small to touch or torn into letters, and whether the page is too wide."""
    page.goto(address)
    page.evaluate(UNFOLD)
    wide = [f"{address} is too wide"] if page.evaluate(TOO_WIDE) > 0 else []
    skip = [] if page.evaluate(SKIP) else ["the skip link"]
    return [*page.evaluate(SMALL), *page.evaluate(TORN), *wide, *skip]


@pytest.mark.parametrize("width", [195, 390, 1280])
def test_what_is_touched_beside_a_bed_is_large_enough(
    sign_in: SignIn, unit: Bedside, width: int
) -> None:
    """195 px are a phone of 390 px at twice the size of text."""
    unit.issue()
    page = sign_in("agnes", viewport={"width": width, "height": 844})
    addresses = (f"/episodes/{unit.id}", f"/episodes/{unit.id}/identity", "/mine")

    found = [fault for address in addresses for fault in faults(page, address)]
    for fact in (Received(), Inspected(), CHECKED):
        unit.record(fact)
    found += faults(page, addresses[0])

    assert found == []
