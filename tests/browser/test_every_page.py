"""Every page at three widths: accessible by axe, inside its width, usable by keyboard alone."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.browser.conftest import SignIn
from tests.browser.ward import WARD, Ward

AXE = (Path(__file__).parent / "vendor" / "axe-core-4.14.1.min.js").read_text()
WIDTHS = (390, 1280, 1920)
OF_THE_WARD = (
    "board",
    "reminders",
    "breaches",
    "orders",
    "orders/new",
    "staff",
    "staff/new",
    "shifts",
    "shifts/new",
    "settings",
    "wall-links",
)
ELSEWHERE = ("/wards", "/wards/new", "/patients", "/patients/new", "/policies", "/policies/common")
EPISODES = ("steady", "reaction", "waiting", "closed")


def pages_of(page: Page) -> Iterator[str]:
    """The address of every page, and of one episode of each of some levels."""
    yield from (f"/wards/{WARD}/{name}" for name in OF_THE_WARD)
    yield from ELSEWHERE
    page.goto(f"/wards/{WARD}/board")
    for level in EPISODES:
        link = page.locator(f"li.row.{level} .who a").first
        address = link.get_attribute("href") or ""
        yield address
        if level in ("reaction", "steady"):
            yield f"{address}/reaction"


@pytest.fixture(params=WIDTHS)
def width(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.mark.timeout(300)
def test_no_page_has_a_violation_or_is_wider_than_its_window(sign_in: SignIn, width: int) -> None:
    charge = sign_in("charge", viewport={"width": width, "height": 900})
    admin = sign_in("admin", viewport={"width": width, "height": 900})
    found: dict[str, object] = {}

    for address in list(pages_of(charge)):
        for person in (charge, admin):
            answer = person.goto(address)
            if answer is not None and answer.status == 200:
                found |= _faults(person, f"{address} at {width}")
                break
        else:
            found[address] = "nobody may see it"

    assert found == {}, json.dumps(found, indent=1)


def test_sign_in_and_wall_have_no_violation(
    context: Callable[..., BrowserContext], ward: Ward, width: int
) -> None:
    page = context(viewport={"width": width, "height": 900}).new_page()
    found: dict[str, object] = {}
    for address in ("/sign-in", ward.wall):
        page.goto(address)
        found |= _faults(page, address)

    assert found == {}, json.dumps(found, indent=1)


def test_every_unit_on_the_board_opens(sign_in: SignIn) -> None:
    page = sign_in("charge")
    links = page.locator("li.row .who a")
    hrefs = [link.get_attribute("href") or "" for link in links.all()]
    opened = {href: page.request.get(href).status for href in hrefs}

    assert len(opened) >= 20
    assert {href: status for href, status in opened.items() if status != 200} == {}


def test_the_board_is_reached_and_left_by_keyboard_alone(
    context: Callable[..., BrowserContext],
) -> None:
    page = context().new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").focus()
    page.keyboard.type("charge")
    page.keyboard.press("Tab")
    page.keyboard.type("lantern-ward")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/wards/{WARD}/board")

    _tab_to(page, "#rows > li .who a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/episodes/**")
    page.keyboard.press("Tab")

    assert page.evaluate("document.activeElement.className") == "skip"


def _tab_to(page: Page, selector: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    raise AssertionError(f"{selector} is not reached by the tab key")


def _faults(page: Page, address: str) -> dict[str, object]:
    """What axe finds, and whether the page scrolls sideways."""
    page.evaluate(AXE)
    result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    found: dict[str, object] = {
        f"{address} {one['id']}": [node["html"][:160] for node in one["nodes"]][:3]
        for one in result["violations"]
    }
    wide = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    if wide > 0:
        found[f"{address} sideways"] = wide
    return found
