"""Reminders that arrive: called once over two pages, and silenced at once by a colleague."""

import re
from datetime import timedelta

from playwright.sync_api import Page, expect

from server.domain.payloads import Assigned, Issued
from server.domain.words import Kind
from tests.browser.bedside import BO, LAB, Bedside
from tests.browser.conftest import SignIn
from tests.browser.ward import WARD

# Of what it looks for by itself every ten seconds or more seldom a page learns nothing here.
LOOKS_NOT_BY_ITSELF = """
  const every = window.setInterval;
  window.setInterval = (act, after, ...more) => (after < 10000 ? every(act, after, ...more) : 0);
"""
NOTIFY = {"permissions": ["notifications"]}
# Counts what the page's own code starts; nothing of it is replaced.
COUNT_PULSES = """
  window.pulses = 0;
  const start = AudioScheduledSourceNode.prototype.start;
  AudioScheduledSourceNode.prototype.start = function (...at) {
    window.pulses += 1;
    return start.apply(this, at);
  };
"""
SHOWN = """async () => {
  const worker = await navigator.serviceWorker.getRegistration('/static/js/');
  const shown = await worker?.getNotifications() ?? [];
  return shown.map(({title, body, data}) => [title, body, data.href]);
}"""


def until_heard(pages: tuple[Page, ...], pulses: int) -> list[int]:
    """Wait until pages have sounded so many pulses together, and no more; those of each."""
    heard: list[int] = []
    while sum(heard) < pulses:
        pages[0].wait_for_timeout(50)
        heard = [page.evaluate("window.pulses") for page in pages]
    pages[0].wait_for_timeout(500)
    return [page.evaluate("window.pulses") for page in pages]


def until_notified(page: Page, bed: str, number: int) -> list[list[str]]:
    """Wait until the browser shows so many notifications of a bed; those."""
    found: list[list[str]] | None = None
    while found is None or len(found) != number:
        page.wait_for_timeout(50)
        shown: list[list[str]] = page.evaluate(SHOWN)
        found = [one for one in shown if one[0].endswith(f"bed {bed}")]
    return found


def test_a_reminder_calls_once_over_two_pages_and_a_colleague_who_has_it_silences_both(
    sign_in: SignIn, unit: Bedside
) -> None:
    page, charge = sign_in("bo", **NOTIFY), sign_in("charge")
    page.locator("#more-calls summary").click()
    page.locator("[data-switch=notices]").click()
    expect(page.locator("[data-switch=notices]")).to_have_text("Notifications on")
    board = page.context.new_page()
    for one in (page, board, charge):
        one.add_init_script(LOOKS_NOT_BY_ITSELF)
    for one, address in ((page, "/mine"), (board, f"/wards/{WARD}/board")):
        one.add_init_script(COUNT_PULSES)
        one.goto(address)
        expect(one.locator("[data-own-calls]")).to_be_attached()
        one.locator("h1").first.dispatch_event("pointerdown")
        one.mouse.click(5, 5)
    charge.goto("/mine")

    _issue_long_ago(unit)
    for one in (page, board):
        row = one.locator("[data-owed]", has_text="18").first
        expect(row).to_have_attribute("data-priority", "high")
        expect(one.locator("[data-say=high]")).to_contain_text(
            "High priority: bed 18, start overdue"
        )
    assert sorted(until_heard((page, board), 10)) == [0, 10]
    ((title, body, href),) = until_notified(page, "18", 1)
    assert (title, body.startswith("Start overdue, ")) == ("High priority: bed 18", True)
    assert (href.startswith(f"/episodes/{unit.id}"), "Tamsin" in body) == (True, False)

    escalated = charge.locator(".task", has_text="Tamsin, Orla")
    expect(escalated).to_contain_text("escalated to you, Bo Ek has the unit")
    escalated.get_by_role("button", name=re.compile("I have it.*bed 18")).click()

    expect(page.locator(".task", has_text="Tamsin, Orla").locator(".held")).to_contain_text(
        "has it"
    )
    expect(board.locator("[data-owed]", has_text="Bed 18")).to_have_count(0)
    until_notified(page, "18", 0)
    assert sum(until_heard((page, board), 10)) == 10

    # It was a mistake, and taken back: what is owed calls once more.
    unit.take_back(Kind.ACKNOWLEDGED)
    expect(board.locator("[data-owed]", has_text="Bed 18").first).to_be_attached()
    assert sum(until_heard((page, board), 20)) == 20


def test_where_the_browser_refuses_or_lacks_them_the_page_says_so(sign_in: SignIn) -> None:
    page = sign_in("bo")
    page.add_init_script("delete window.Notification; delete window.speechSynthesis;")
    page.reload()

    why = page.locator("[data-lack]")
    expect(why).to_contain_text("This browser has no voice of its own.")
    expect(why).to_contain_text("does not let the page notify here")
    expect(page.locator("[data-switch=voice]")).to_be_hidden()
    expect(page.locator("[data-switch=notices]")).to_be_hidden()


def _issue_long_ago(unit: Bedside) -> None:
    """The unit was issued to Bo 36 minutes ago and not started: past its limit, and escalated."""
    unit.record(Assigned("ek"), BO)
    unit.record(Issued(), LAB, ago=timedelta(minutes=36))
