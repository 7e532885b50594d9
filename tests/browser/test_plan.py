"""A charge nurse plans: a shift, a collision, a proposal, why a unit waits, and the board after."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from server.store.migrate import migrate
from server.store.plans import plan_in_force
from server.store.store import Store
from tests.browser.planned import PASSWORD, WARD, fill
from tests.browser.scanner import hold_timers
from tests.browser.ward import Ward, serving
from tests.ports import free_port

PLAN = f"/wards/{WARD}/plan"
HALF_PAST_TWO = datetime(2026, 3, 3, 14, 30, tzinfo=UTC)
Open = Callable[..., BrowserContext]


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A ward of its own for each test: what one accepts would be in force for the other."""
    database, port = f"sqlite:///{tmp_path / 'ward.db'}", free_port()
    migrate(database)
    store = Store(database)
    fill(store, HALF_PAST_TWO)
    store.close()
    with serving(database, port, tmp_path / "log", shown=HALF_PAST_TWO) as process:
        yield Ward(f"http://127.0.0.1:{port}", database, "", process)


def _in_force(store: Store) -> str | None:
    with store.read() as session:
        plan = plan_in_force(session, WARD, HALF_PAST_TWO + timedelta(hours=1))
    return None if plan is None else plan.id


COLLIDES = "Nia Cole: watched first minutes beds 4 and 7 collide 14:50–15:05"
WAITS = re.compile(r"unit 1 of 2|leaves room from|unit before", re.IGNORECASE)
TOO_WIDE = "document.documentElement.scrollWidth - innerWidth"


def _sign_in(context: Open, width: int) -> Page:
    page = context(viewport={"width": width, "height": 900}).new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").fill("carl")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"**/wards/{WARD}/board")
    return page


def _unit(page: Page, name: str) -> Locator:
    """The row of one of the two units that wait for bed 9."""
    return page.locator(".plan-unit", has_text="Bed 9").filter(has_text=name)


def test_a_charge_nurse_asks_understands_accepts_and_the_board_says_when_to_call(
    context: Open, store: Store
) -> None:
    page = _sign_in(context, 1280)
    page.goto(PLAN)
    expect(page.locator(".person .who", has_text="Oke Marsh")).to_have_count(0)
    page.get_by_role("link", name="Duty of the day").click()
    page.get_by_label("Oke Marsh", exact=True).check()
    page.get_by_label("Oke Marsh from").fill("14:30")
    page.get_by_label("Oke Marsh until").fill("00:30")
    page.get_by_role("button", name="Record the day").click()
    expect(page.locator(".notice.done")).to_have_text("The day is recorded.")
    page.get_by_role("link", name="Plan", exact=True).first.click()

    expect(page.locator(".person .who", has_text="Oke Marsh")).to_be_visible()
    expect(page.locator(".plan-found")).to_contain_text(COLLIDES)
    expect(page.locator(".plan-unit.unplaced")).to_have_count(4)
    page.get_by_role("button", name="Ask for a proposal").click()
    page.wait_for_url("**/plan?version=*")

    expect(page.locator("main")).not_to_contain_text("collide")
    expect(_unit(page, "unit 2 of 2").locator(".why")).to_contain_text(WAITS)
    call = _unit(page, "unit 1 of 2").locator(".times dd").first.inner_text()
    _drag_the_check(page)
    assert _in_force(store) is None
    page.get_by_role("button", name="Accept this plan").click()
    page.wait_for_url(f"**{PLAN}")

    assert _in_force(store) is not None
    page.set_viewport_size({"width": 390, "height": 844})
    expect(_unit(page, "unit 1 of 2").locator(".times dd").first).to_have_text(call)
    assert page.evaluate(TOO_WIDE) <= 0
    page.goto(f"/wards/{WARD}/board")
    expect(page.locator(".row.waiting").first).to_contain_text(f"call at {call}")
    expect(page.locator(".plan-strip")).to_contain_text(f"{call} bed 9, red cells")
    expect(page.locator(".loads")).to_contain_text("Nia Cole")


@pytest.mark.timeout(300)  # some hundred keys, each answered by the page before the next
def test_the_same_by_keyboard_alone_from_a_copy_of_yesterday_and_a_unit_is_moved(
    context: Open, store: Store
) -> None:
    page = _sign_in(context, 1920)
    page.goto(PLAN)
    expect(page.locator(".plan-found")).to_contain_text(COLLIDES)
    _press(page, "a:text('Duty of the day')")
    page.wait_for_url(f"**{PLAN}/day")
    _press(page, "button:text('Copy Monday 2 March')")
    expect(page.locator(".notice.done")).to_contain_text("The day before is copied.")
    expect(page.get_by_label("Oke Marsh from")).to_have_value("14:30")
    _press(page, ".back a")
    page.wait_for_url(f"**{PLAN}")
    _press(page, "button:text('Ask for a proposal')")
    page.wait_for_url("**/plan?version=*")
    first = page.url
    expect(page.locator("main")).not_to_contain_text("collide")
    before = _unit(page, "unit 1 of 2").locator(".times dd").nth(1).inner_text()

    _press(page, ".plan-unit:has-text('unit 1 of 2') [data-choose]")
    expect(page.locator("#hand")).to_be_visible()
    _tab_to(page, ".grip")
    expect(page.locator(".grip")).to_have_attribute("aria-valuetext", before)
    hold_timers(page, keys=2)  # both before it is sent
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator(".which")).to_contain_text("Put together by hand")
    expect(page.locator(".grip")).to_be_focused()
    after = _unit(page, "unit 1 of 2").locator(".times dd").nth(1).inner_text()
    assert _minutes(after) - _minutes(before) in (10, 10 - 24 * 60)
    expect(page.locator(".worth-line")).to_contain_text("Before: without a start 0")
    _press(page, ".version-acts a")
    page.wait_for_url(first)
    _press(page, "button:text('Accept this plan')")
    page.wait_for_url(f"**{PLAN}")

    assert _in_force(store) == first.partition("version=")[2]


def _drag_the_check(page: Page) -> None:
    """Drag the check of the first unit of bed 9 by 100 px on the axis, and go back by undo."""
    here = page.url
    _unit(page, "unit 1 of 2").locator("[data-choose]").click()
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
