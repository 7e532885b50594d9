"""Every page: accessible by axe, inside its window at every width, high enough to touch."""

import json
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.browser.conftest import SignIn
from tests.browser.ward import WARD, WEBHOOK, Ward

AXE = (Path(__file__).parent / "vendor" / "axe-core-4.14.1.min.js").read_text()
WIDTHS = (390, 640, 1280, 1920)  # 640: the station's window at 200 %
FOLDED_AT = (390, 1280)
LEAST = 44  # CSS pixels of what is touched, by WCAG 2.2, 2.5.5
CHARGE = (
    *(
        f"/wards/{WARD}/{name}"
        for name in (
            "board",
            "sheet",
            "plan",
            "reminders",
            "replay",
            "cover",
            "review",
            "breaches",
            "alarm-load",
            "accounts",
            "exports",
            "report",
            "orders",
            "orders/new",
            "staff",
            "shifts",
            "shifts/new",
            "plan/day",
            "wall-links",
            "webhooks",
        )
    ),
    "/mine",
    "/mine/take-over",
    "/my-sign-in",
    "/patients",
    "/patients/new",
    "/policies",
    "/policies/common",
    "/compatibility",
)
ADMIN = (
    f"/wards/{WARD}/staff/new",
    f"/wards/{WARD}/staff/ek/badge",
    f"/wards/{WARD}/settings",
    f"/wards/{WARD}/webhooks/new",
    f"/wards/{WARD}/webhooks/{WEBHOOK}",
    f"/wards/{WARD}/webhooks/{WEBHOOK}/change",
    "/wards",
    "/wards/new",
    "/tokens",
    "/tokens/new",
    "/my-sign-in/second-factor",
    "/audit",
    "/program",
)
# One unit of each of some levels, and what hangs on it; the pages that are laid out anew when wide.
UNITS = {
    "li.row.steady:not(.no-line)": ("", "/reaction"),
    "li.row.reaction": ("", "/reaction", "/record"),
    "li.row.waiting": ("", "/identity"),
    "li.row.closed": ("", "/record"),
}
FOLDED = re.compile(r"/(board|mine|episodes/[^/]+|reaction|identity|record)$")
UNIT = re.compile(r"/episodes/[^/]+$")
TOO_SMALL = """least => [...document.querySelectorAll("a[href], button, summary, select, input")]
  .filter(one => one.checkVisibility() && one.offsetWidth > 1 && !one.matches("p a, dd a, .skip"))
  .map(one => one.matches("[type=checkbox], [type=radio]") ? one.closest("label") : one)
  .filter(one => one.offsetHeight < least)
  .filter(one => getComputedStyle(one, "::after").position !== "absolute")
  .map(one => `${one.offsetHeight}: ${one.outerHTML.slice(0, 120)}`)"""
LEAST_TEXT = 11  # CSS pixels
SMALLEST_TEXT = """() => Math.min(...[...document.querySelectorAll("svg.chart text")].map(
  one => one.getScreenCTM().a * parseFloat(getComputedStyle(one).fontSize)))"""
BEYOND_ITS_BOX = """box => Math.max(...[...box.querySelectorAll("text")].map(
  one => one.getBoundingClientRect().right)) - box.getBoundingClientRect().right"""
TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def units_of(page: Page) -> Iterator[str]:
    """The address of some units' pages."""
    page.goto(f"/wards/{WARD}/board")
    for row, parts in UNITS.items():
        address = page.locator(f"{row} .who a").first.get_attribute("href") or ""
        yield from (f"{address}{part}" for part in parts)


def breaches_of(page: Page) -> Iterator[str]:
    """The address of the first breach of the list, and of its unit as it was then."""
    page.goto(f"/wards/{WARD}/breaches")
    address = page.locator("tbody th a").first.get_attribute("href") or ""
    page.goto(address)
    then = page.get_by_role("link", name="The unit as it was then").get_attribute("href") or ""
    yield from (address, then)


@pytest.mark.timeout(300)
def test_no_page_has_a_violation_or_is_wider_than_its_window(sign_in: SignIn) -> None:
    # Rows that travel to their place would be looked at half-way.
    charge, admin = (sign_in(name, reduced_motion="reduce") for name in ("charge", "admin"))
    seen = dict.fromkeys((*CHARGE, *units_of(charge), *breaches_of(charge)), charge)
    seen |= dict.fromkeys(ADMIN, admin)
    found: dict[str, object] = {}
    for address, person in seen.items():
        answer = person.goto(address)
        assert answer is not None
        if answer.status == 200:
            found |= _faults(person, address)
        else:
            found[address] = answer.status

    assert found == {}, json.dumps(found, indent=1)


def test_sign_in_and_wall_have_no_violation(
    context: Callable[..., BrowserContext], ward: Ward
) -> None:
    page = context().new_page()
    found: dict[str, object] = {}
    for address in ("/sign-in", ward.wall):
        page.goto(address)
        found |= _faults(page, address)

    assert found == {}, json.dumps(found, indent=1)


def test_every_unit_on_the_board_opens(sign_in: SignIn) -> None:
    page = sign_in("charge")
    hrefs = page.locator("li.row .who a").evaluate_all("all => all.map(one => one.href)")
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


def test_a_chart_of_many_days_scrolls_in_its_own_box_from_its_newest_end(sign_in: SignIn) -> None:
    page = sign_in("charge", viewport={"width": 390, "height": 844})
    page.goto(f"/wards/{WARD}/review")
    last = date.fromisoformat(page.get_by_label("Until and with").input_value())
    page.goto(f"/wards/{WARD}/review?from={last - timedelta(days=40)}&to={last}&by=day")
    box = page.locator(".chart-box.from-end").first

    assert box.evaluate("box => box.scrollWidth > box.clientWidth")
    assert page.evaluate(SMALLEST_TEXT) >= LEAST_TEXT
    assert page.evaluate(TOO_WIDE) == 0
    assert box.evaluate(BEYOND_ITS_BOX) <= 0

    box.focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function("box => box.scrollLeft !== 0", arg=box.element_handle())


def _tab_to(page: Page, selector: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    raise AssertionError(f"{selector} is not reached by the tab key")


def _faults(page: Page, address: str) -> dict[str, object]:
    """What axe finds, what is too small to touch, and where the page scrolls sideways.

    One load serves all widths. Axe looks at the phone, and again at the station where the page is
    laid out anew; whether it fits is asked at every width.
    """
    found: dict[str, object] = {}
    page.evaluate(AXE)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        if width == WIDTHS[0] or (width in FOLDED_AT and FOLDED.search(address)):
            found |= _violations(page, f"{address} at {width}")
        if not UNIT.search(address):
            found |= _small(page, f"{address} too small at {width}")
        wide = page.evaluate(TOO_WIDE)
        found |= {f"{address} sideways at {width}": wide} if wide > 0 else {}
    return found


def _violations(page: Page, where: str) -> dict[str, object]:
    result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return {
        f"{where} {one['id']}": [node["html"][:160] for node in one["nodes"]][:3]
        for one in result["violations"]
    }


def _small(page: Page, where: str) -> dict[str, object]:
    small = page.evaluate(TOO_SMALL, LEAST)
    return {where: small[:4]} if small else {}
