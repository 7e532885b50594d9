"""A charge nurse plans: a shift, a collision, a proposal, why a unit waits, and the board after."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from server.store.migrate import migrate
from server.store.plans import plan_in_force
from server.store.store import Store
from tests.browser.planned import PASSWORD, WARD, fill
from tests.browser.scanner import hold_timers
from tests.browser.ward import Ward, serving
from tests.ports import free_port

PLAN = f"/wards/{WARD}/plan"
TEN_TO_THREE = datetime(2026, 3, 3, 14, 50, tzinfo=UTC)
Open = Callable[..., BrowserContext]


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A ward of its own for each test: what one accepts would be in force for the other."""
    database, port = f"sqlite:///{tmp_path / 'ward.db'}", free_port()
    migrate(database)
    store = Store(database)
    fill(store, TEN_TO_THREE)
    store.close()
    with serving(database, port, tmp_path / "log", shown=TEN_TO_THREE) as process:
        yield Ward(f"http://127.0.0.1:{port}", database, "", process)


def _in_force(store: Store) -> str | None:
    with store.read() as session:
        plan = plan_in_force(session, WARD, TEN_TO_THREE + timedelta(hours=1))
    return None if plan is None else plan.id


def _sign_in(context: Open) -> Page:
    page = context().new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").fill("carl")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"**/wards/{WARD}/board")
    return page


def _enter_shift(page: Page) -> None:
    """Enter that Oke is on duty, in the form of the day, from the plan and back to it."""
    page.goto(PLAN)
    _press(page, "a:text('Duty of the day')")
    page.wait_for_url(f"**{PLAN}/day")
    page.get_by_label("Oke Marsh", exact=True).press("Space")
    page.get_by_label("Oke Marsh from").fill("14:45")
    page.get_by_label("Oke Marsh until").fill("00:30")
    page.keyboard.press("Enter")
    expect(page.locator(".notice.done")).to_have_text("The day is recorded.")
    page.get_by_role("link", name="Plan", exact=True).first.press("Enter")
    page.wait_for_url(f"**{PLAN}")


COLLIDES = re.compile(
    r"Nia Cole: watched first minutes bed 4 and watched first minutes bed 7 collide 14:5\d–15:0\d"
)
WAITS = re.compile(r"unit 1 of 2|leaves room from|unit before", re.IGNORECASE)


def test_a_charge_nurse_asks_understands_accepts_and_the_board_says_when_to_call(
    context: Open, store: Store
) -> None:
    page = _sign_in(context)
    page.goto(PLAN)
    expect(page.locator(".person .who", has_text="Oke Marsh")).to_have_count(0)
    _enter_shift(page)

    expect(page.locator(".person .who", has_text="Oke Marsh")).to_be_visible()
    expect(page.locator(".plan-found")).to_contain_text(COLLIDES)
    expect(page.locator(".plan-unit.unplaced")).to_have_count(2)
    page.get_by_role("button", name="Ask for a proposal").click()
    page.wait_for_url("**/plan?version=*")

    units = page.locator(".plan-unit")
    expect(units.nth(1).locator(".who")).to_contain_text("unit 2 of 2")
    expect(units.nth(1).locator(".why")).to_contain_text(WAITS)
    call = units.first.locator(".times dd").first.inner_text()
    _drag_the_check(page)
    assert _in_force(store) is None
    page.get_by_role("button", name="Accept this plan").click()
    page.wait_for_url(f"**{PLAN}")

    assert _in_force(store) is not None
    sheets = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True))).pages
    paper = " ".join(" ".join(sheet.extract_text().split()) for sheet in sheets)
    assert len(sheets) <= 3
    assert "Printed 3 March 2026 14:5" in paper
    assert f"Call at {call}" in paper
    assert "watched first minutes bed 4" in paper
    assert "Ask for a proposal" not in paper
    page.goto(f"/wards/{WARD}/board")
    expect(page.locator(".row.waiting").first).to_contain_text(f"call at {call}")
    expect(page.locator(".plan-strip")).to_contain_text(f"{call} bed 9, red cells")
    expect(page.locator(".loads")).to_contain_text("Nia Cole")


def test_the_same_by_keyboard_alone_and_a_unit_is_moved_with_its_consequences(
    context: Open, store: Store
) -> None:
    page = _sign_in(context)
    _enter_shift(page)
    _press(page, "button:text('Ask for a proposal')")
    page.wait_for_url("**/plan?version=*")
    first = page.url
    before = page.locator(".plan-unit .times dd").nth(1).inner_text()

    _press(page, "[data-choose]")
    expect(page.locator("#hand")).to_be_visible()
    _tab_to(page, ".grip")
    expect(page.locator(".grip")).to_have_attribute("aria-valuetext", before)
    hold_timers(page, keys=2)  # both before it is sent
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator(".which")).to_contain_text("Put together by hand")
    expect(page.locator(".grip")).to_be_focused()
    after = page.locator(".plan-unit .times dd").nth(1).inner_text()
    assert _minutes(after) - _minutes(before) in (10, 10 - 24 * 60)
    expect(page.locator(".worth-line")).to_contain_text("Before: without a start 0")
    _press(page, ".version-acts a")
    page.wait_for_url(first)
    _press(page, "button:text('Accept this plan')")
    page.wait_for_url(f"**{PLAN}")

    assert _in_force(store) == first.partition("version=")[2]


def _drag_the_check(page: Page) -> None:
    """Drag the check of the first unit by 100 px along the axis, and go back by undo."""
    here = page.url
    page.locator("[data-choose]").first.click()
    before = page.locator("[name=check_at_time]").input_value()
    box = page.locator(".grip").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 22, box["y"] + 22)
    page.mouse.down()
    page.mouse.move(box["x"] + 122, box["y"] + 22, steps=4)
    page.mouse.up()
    expect(page.locator(".which")).to_contain_text("Put together by hand")
    after = page.locator("[name=check_at_time]").input_value()
    assert 0 < (_minutes(after) - _minutes(before)) % (24 * 60) <= 90
    assert _minutes(after) % 5 == 0
    page.get_by_role("link", name="Undo").click()
    page.wait_for_url(here)


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)


def _press(page: Page, selector: str) -> None:
    page.locator(selector).first.evaluate("one => one.scrollIntoView()")
    _tab_to(page, selector)
    page.keyboard.press("Enter")


def _tab_to(page: Page, selector: str) -> None:
    wanted = page.locator(selector).first
    for _ in range(90):
        page.keyboard.press("Tab")
        if wanted.evaluate("one => one === document.activeElement"):
            return
    raise AssertionError(f"{selector} is not reached by the tab key")
