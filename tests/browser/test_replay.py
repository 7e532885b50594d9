"""The manager goes back: from a breach to its minute, by slider and keys, then and now compared."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta

from playwright.sync_api import BrowserContext, Page, expect

from seed_demo.staff import PASSWORD
from server.domain.words import Kind
from server.store.log import events_after
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.ward import WARD

MINUTE = timedelta(minutes=1)
LATE = 15 * MINUTE
KEYS = (
    ("ArrowRight", 1),
    ("ArrowLeft", -1),
    ("Shift+ArrowLeft", -10),
    ("Shift+ArrowRight", 10),
    ("PageDown", -60),
)
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


def _between(store: Store) -> datetime:
    """An instant at which the set had been taken and was not charted yet."""
    done, charted = _charted_late(store)
    return (done + (charted - done) / 2).replace(microsecond=0)


def test_a_breach_leads_to_the_minute_of_its_limit(sign_in: SignIn) -> None:
    page = sign_in("manager")
    page.goto(f"/wards/{WARD}/breaches")
    page.locator("tbody th a").first.click()

    page.get_by_role("link", name="The board at that minute").click()

    page.wait_for_url(re.compile(r"/replay\?at="))
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile(r"\d\d:\d\d:\d\d"))
    expect(page.get_by_text("as it was known then")).to_be_visible()


def test_what_was_charted_late_stood_otherwise_then(sign_in: SignIn, store: Store) -> None:
    page = sign_in("manager")
    page.goto(_href(_between(store)))
    learnt = page.locator(".hindsight")
    unit = learnt.locator("h3 a").first
    row = page.locator(unit.get_attribute("href") or "").locator(".tag").first
    then = row.inner_text()

    page.get_by_role("link", name="As known now").click()
    expect(page.get_by_text("with all that is known now")).to_be_visible()
    expect(row).not_to_have_text(then)
    page.get_by_role("link", name="As known then").click()

    expect(row).to_have_text(then)
    expect(learnt).to_contain_text("stood otherwise than was known")
    expect(learnt.get_by_text("min later").first).to_be_visible()


def test_the_slider_is_moved_by_keys_and_keeps_them(sign_in: SignIn, store: Store) -> None:
    page, at = sign_in("manager"), _between(store)
    page.goto(_href(at))
    slider = page.get_by_role("slider", name="Instant")
    slider.focus()

    for key, minutes in KEYS:
        at += minutes * MINUTE
        page.keyboard.press(key)
        _expect_at(page, at)
        expect(slider).to_be_focused()
    page.keyboard.press("Home")
    first = at.replace(minute=0, second=0) - timedelta(hours=3)
    _expect_at(page, first)
    page.keyboard.press("ArrowLeft")  # beyond the end it goes on
    _expect_at(page, first - MINUTE)
    for _ in range(3):  # faster than the answers come
        page.keyboard.press("ArrowRight")
    _expect_at(page, first + 2 * MINUTE)


def test_steps_lead_on_and_the_past_stands_still(sign_in: SignIn, store: Store) -> None:
    page, at = sign_in("manager"), _between(store)
    page.goto(_href(at))

    page.get_by_role("link", name="10 min later").press("Enter")
    _expect_at(page, at + 10 * MINUTE)
    page.get_by_role("link", name="Previous event").press("Enter")
    shown = f"{at + 10 * MINUTE:%Y-%m-%dT%H:%M:%SZ}"
    expect(page.locator("#replay")).not_to_have_attribute("data-at", shown)
    page.get_by_role("textbox", name="Time of the ward").fill("00:00:07")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("00:00:07")

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
