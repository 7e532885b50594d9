"""My list in a real browser: few touches to a stored set, reminders that reach the nurse."""

import re

import pytest
from playwright.sync_api import Page, expect

from server.domain.payloads import Observed
from server.domain.words import Kind
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE, SIGNS, Hand, observe_from_list, record_button, recorded
from tests.browser.test_every_page import _faults
from tests.browser.ward import WARD

COVER = f"/wards/{WARD}/cover"
NEW_REMINDER = """() => {
  const list = document.getElementById('mine');
  const row = document.createElement('li');
  const said = 'High priority: bed 99, first check due';
  Object.assign(row.dataset, {owed: 'new', tag: 'new', priority: 'high', said});
  list.append(row);
  list.dataset.titleCount = '7';
  document.dispatchEvent(new Event('htmx:after:swap'));
}"""
SMALL = """() => {
  const touched = 'main :is(a, button, select, input:not([type=hidden], [type=radio]))';
  return [...document.querySelectorAll(touched)]
    .filter(one => one.offsetParent && !one.closest('p:not(.back, .sound), .choice'))
    .filter(one => one.getBoundingClientRect().height < 43.5)
    .map(one => one.outerHTML.slice(0, 90));
}"""


def test_from_the_list_to_a_stored_full_set_in_nine_touches(sign_in: SignIn, store: Store) -> None:
    page = sign_in("agnes", **PHONE)
    assert page.url.endswith("/mine")
    hand = Hand(page)

    with recorded(store) as facts:
        observe_from_list(page, hand)
        hand.touch(record_button(page))
        expect(page.locator("#recorded")).to_be_visible()

    (fact,) = facts
    assert isinstance(fact.event.payload, Observed)
    said = {name: getattr(fact.event.payload, name) for name in SIGNS}
    assert said == {name: float(text) for name, text in SIGNS.items()}
    assert hand.touches <= 9


def test_what_reminds_stands_beside_the_board_and_is_taken_with_one_touch(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("bo")
    page.goto(f"/wards/{WARD}/board")
    rows = page.locator(".due-row")
    expect(rows.first).to_contain_text("Bed ")
    before, title = rows.count(), page.title()

    with recorded(store) as facts:
        rows.first.get_by_role("button", name=re.compile("I have it")).click()
        expect(rows).to_have_count(before - 1)

    assert {one.event.kind for one in facts} == {Kind.ACKNOWLEDGED}
    assert title.startswith("(")
    assert page.url.endswith("/board")


def test_the_sound_is_switched_off_on_this_device_for_good(sign_in: SignIn) -> None:
    page = sign_in("bo", **PHONE)
    switch = page.locator("[data-switch=sound]")
    expect(switch).to_have_attribute("aria-pressed", "true")

    switch.tap()
    expect(switch).to_have_text(re.compile("Sound off"))
    page.reload()

    expect(page.locator("[data-switch=sound]")).to_have_attribute("aria-pressed", "false")
    kept = dict(page.evaluate("Object.entries(localStorage)"))
    assert kept.pop("sound") == "off"
    assert set(kept) <= {"called"}


def test_a_new_reminder_is_said_and_counted(sign_in: SignIn) -> None:
    page = sign_in("bo", **PHONE)
    page.evaluate(NEW_REMINDER)

    expect(page.locator("[data-say=high]")).to_have_text("High priority: bed 99, first check due")
    assert page.title().startswith("(7) ")


def test_without_scripts_the_list_is_read_and_refreshes_itself(sign_in: SignIn) -> None:
    page = sign_in("bo", java_script_enabled=False, **PHONE)

    assert page.locator(".task").count() >= 3
    assert page.locator("meta[http-equiv=refresh]").count() == 1
    expect(page.locator("[data-sound]")).to_be_hidden()


@pytest.mark.parametrize("width", [390, 1280, 1920])
def test_no_page_has_a_violation_a_small_target_or_a_sideways_scroll(
    sign_in: SignIn, width: int
) -> None:
    page = sign_in("charge", viewport={"width": width, "height": 900})
    page.goto("/mine?nurse=ek")
    unit = page.locator(".hand").first.get_attribute("href") or ""
    found: dict[str, object] = {}
    for address in ("/mine", "/mine?nurse=ek", "/mine/take-over", unit, COVER):
        page.goto(address)
        found |= _faults(page, f"{address} at {width}")
        found |= {f"{address} small": small for small in [_small_targets(page)] if small}

    assert found == {}


def _small_targets(page: Page) -> list[str]:
    """What can be touched in the content, outside of a sentence, and is lower than 44 px."""
    found: list[str] = page.evaluate(SMALL)
    return found


def test_a_stream_that_was_refused_is_asked_for_again(sign_in: SignIn) -> None:
    """As it is while the database is away; browsers do not come back to it by themselves."""
    page = sign_in("agnes")
    page.clock.install()
    page.route("**/changes", lambda route: route.fulfill(status=503), times=1)
    with page.expect_response("**/changes") as refused:
        page.goto("/mine")

    with page.expect_response("**/changes") as taken:
        for _ in range(20):
            page.clock.run_for(1_000)

    assert (refused.value.status, taken.value.status) == (503, 200)
