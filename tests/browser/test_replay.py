"""The manager goes back: from a breach to its minute, by slider and keys, then and now compared."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from seed_demo.staff import PASSWORD
from server.domain.words import Kind
from server.store.log import events_after
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.ward import WARD

MINUTE = timedelta(minutes=1)
LATE = 15 * MINUTE
COUNTED = """[...document.querySelectorAll("#replay :is([data-count], [data-given], [data-wall])")]
  .map(one => one.textContent)"""


def _charted_late(store: Store) -> tuple[datetime, datetime]:
    """When the latest set that was charted late was taken, and when it was charted."""
    with store.read() as session:
        logged = [one.event for one in events_after(session, 0, limit=10_000)]
    late = [one for one in logged if one.kind is Kind.OBSERVED and one.is_late_entry(LATE)]
    return late[-1].happened_at, late[-1].recorded_at


def _href(at: datetime) -> str:
    return f"/wards/{WARD}/replay?at={at:%Y-%m-%dT%H:%M:%SZ}"


def _expect_at(page: Page, at: datetime) -> None:
    """The page shows the instant, and its address names it."""
    written = f"{at:%Y-%m-%dT%H:%M:%SZ}"
    expect(page.locator("#replay")).to_have_attribute("data-at", written)
    expect(page).to_have_url(re.compile(re.escape(f"at={written}")))


@pytest.mark.timeout(120)
def test_the_past_is_found_by_a_breach_by_keys_and_by_what_was_charted_late(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("manager")

    # From a breach to the minute of its limit.
    page.goto(f"/wards/{WARD}/breaches")
    page.locator("tbody th a").first.click()
    page.get_by_role("link", name="The board at that minute").click()
    page.wait_for_url(re.compile(r"/replay\?at="))
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile(r"\d\d:\d\d:\d\d"))

    # What was charted late stood otherwise on the screen.
    done, charted = _charted_late(store)
    at = done + (charted - done) / 2
    at = at.replace(microsecond=0)
    page.goto(_href(at))
    learnt = page.locator(".hindsight")
    expect(learnt).to_contain_text("stood otherwise than was known")
    expect(learnt.get_by_text("min later").first).to_be_visible()
    unit = learnt.locator("h3 a").first
    row = page.locator(unit.get_attribute("href") or "")
    then = row.locator(".tag").first.inner_text()
    page.get_by_role("link", name="As known now").click()
    expect(page.get_by_text("with all that is known now")).to_be_visible()
    assert row.locator(".tag").first.inner_text() != then
    page.get_by_role("link", name="As known then").click()
    expect(row.locator(".tag").first).to_have_text(then)

    # The slider by its keys; it keeps them through every answer.
    slider = page.get_by_role("slider", name="Instant")
    slider.focus()
    for key, step in (
        ("ArrowRight", MINUTE),
        ("ArrowLeft", -MINUTE),
        ("Shift+ArrowLeft", -10 * MINUTE),
        ("Shift+ArrowRight", 10 * MINUTE),
        ("PageDown", -60 * MINUTE),
    ):
        at += step
        page.keyboard.press(key)
        _expect_at(page, at)
        expect(slider).to_be_focused()
    page.keyboard.press("Home")
    first = at.replace(minute=0, second=0) - timedelta(hours=3)
    _expect_at(page, first)
    page.keyboard.press("ArrowLeft")  # beyond the end it goes on
    _expect_at(page, first - MINUTE)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    _expect_at(page, first + 2 * MINUTE)

    # By a step, from event to event, and to a time that is typed.
    page.get_by_role("link", name="10 min later").press("Enter")
    _expect_at(page, first + 12 * MINUTE)
    page.goto(_href(charted - MINUTE))
    page.get_by_role("link", name="Next event").press("Enter")
    expect(page.locator("#replay")).not_to_have_attribute(
        "data-at", f"{charted - MINUTE:%Y-%m-%dT%H:%M:%SZ}"
    )
    page.get_by_role("textbox", name="Time of the ward").fill("00:00:07")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("00:00:07")

    # It stands still while the clock of the page goes on.
    page.goto(_href(at))
    before = page.evaluate(COUNTED)
    page.wait_for_timeout(1300)
    assert page.evaluate(COUNTED) == before
    assert before


def test_without_scripts_the_form_and_the_steps_lead_there(
    context: Callable[..., BrowserContext], store: Store
) -> None:
    done, _ = _charted_late(store)
    page = context(java_script_enabled=False).new_page()
    page.goto(_href(done))
    page.get_by_label("Name you sign in with").fill("manager")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.goto(_href(done))

    expect(page.locator("#replay-slider")).to_be_hidden()
    page.get_by_role("link", name="10 min earlier").click()
    _expect_at(page, done - 10 * MINUTE)
    page.get_by_role("link", name="Reminders").last.click()
    expect(page.get_by_role("heading", name="Owed, and said so")).to_be_visible()
    page.get_by_role("textbox", name="Time of the ward").fill("00:00:07")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("00:00:07")
    expect(page.get_by_role("heading", name="Owed, and said so")).to_be_visible()
