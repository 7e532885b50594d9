"""My list in a real browser: few touches to a stored set, nothing typed is lost, nothing twice."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Dialog, Locator, Page, Route, expect

from server.domain.payloads import Assigned, Observed
from server.domain.words import Kind
from server.store.log import Logged, events_after, last_position
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.test_every_page import _faults
from tests.browser.ward import WARD, Ward

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
SIGNS = {
    "temperature_c": "36.9",
    "pulse_per_min": "82",
    "respirations_per_min": "16",
    "systolic_mmhg": "124",
    "diastolic_mmhg": "76",
}
COVER = f"/wards/{WARD}/cover"
NEW_REMINDER = """() => {
  const list = document.getElementById('mine');
  const row = document.createElement('li');
  Object.assign(row.dataset, {owed: 'new', priority: 'high', said: 'First check, bed 99, due'});
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


@pytest.fixture
def store(ward: Ward) -> Iterator[Store]:
    """The database of the running server."""
    opened = Store(ward.database)
    yield opened
    opened.close()


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


def test_from_the_list_to_a_stored_full_set_in_nine_touches(sign_in: SignIn, store: Store) -> None:
    page = sign_in("agnes", **PHONE)
    assert page.url.endswith("/mine")
    hand = Hand(page)

    with recorded(store) as facts:
        observe_from_list(page, hand)
        hand.touch(record_button(page))
        expect(page.locator("#recorded")).to_be_visible(timeout=20_000)

    (fact,) = facts
    assert isinstance(fact.event.payload, Observed)
    said = {name: getattr(fact.event.payload, name) for name in SIGNS}
    assert said == {name: float(text) for name, text in SIGNS.items()}
    assert hand.touches <= 9


def test_a_set_that_meets_no_network_stays_is_said_and_is_sent_again_once(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("ines", **PHONE)
    hand = Hand(page)
    observe_from_list(page, hand)
    button = record_button(page)
    happened = page.locator("form.event.observed:has(:focus) .time").input_value()

    with recorded(store) as facts:
        page.context.set_offline(True)
        button.tap()
        notice = page.locator(".unsent")
        expect(notice).to_contain_text("Not stored: Record the observations", timeout=30_000)
        typed = {
            name: page.locator(f"form.is-unsent [name={name}]").input_value() for name in SIGNS
        }
        page.wait_for_timeout(1500)
        time = page.locator("form.is-unsent [data-happened] .time").input_value()
        page.context.set_offline(False)
        notice.get_by_role("button", name="Send again").tap()
        expect(page.locator("#recorded")).to_be_visible(timeout=20_000)

    assert (typed, time) == (SIGNS, happened)
    assert [one.event.kind for one in facts] == [Kind.OBSERVED]
    expect(page.locator(".unsent")).to_have_count(0)


def test_an_answer_that_was_lost_on_the_way_is_not_stored_twice(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("mateus", **PHONE)
    observe_from_list(page, Hand(page))
    button = record_button(page)

    def lose_the_answer(route: Route) -> None:
        route.fetch(max_redirects=0)
        route.abort()

    with recorded(store) as facts:
        page.route("**/events", lose_the_answer, times=1)
        button.tap()
        expect(page.locator(".unsent")).to_contain_text("Not stored", timeout=30_000)
        page.locator(".unsent").get_by_role("button", name="Send again").tap()
        expect(page.locator("#recorded")).to_be_visible(timeout=20_000)

    assert [one.event.kind for one in facts] == [Kind.OBSERVED]


def test_an_error_page_never_takes_the_place_of_what_was_typed(sign_in: SignIn) -> None:
    page = sign_in("priya", **PHONE)
    observe_from_list(page, Hand(page))
    button = record_button(page)
    page.route(
        "**/events", lambda route: route.fulfill(status=502, body="<h1>Bad gateway</h1>"), times=1
    )

    button.tap()

    expect(page.locator(".unsent")).to_contain_text("The server could not store it.")
    assert page.locator("form.is-unsent [name=pulse_per_min]").input_value() == "82"
    assert "Bad gateway" not in page.content()


def test_two_nurses_at_one_check_see_each_other(sign_in: SignIn, store: Store) -> None:
    first, second = sign_in("bo"), sign_in("agnes")
    href = second.locator(".task-link[href*='do=observed']").last.get_attribute("href")
    address = href or ""
    pages = (first, second)
    for page in pages:
        page.goto(address)
        expect(page.locator("[name=temperature_c]:visible").first).to_be_focused()
        for name, digits in SIGNS.items():
            page.locator(f"form:has(:focus) [name={name}]").fill(digits)

    with recorded(store) as facts:
        record_button(first).click()
        expect(first.locator("#recorded")).to_be_visible(timeout=20_000)
        record_button(second).click()
        told = second.locator(".summary-of-errors").first
        expect(told).to_contain_text("Bo Ek recorded the same", timeout=20_000)

    assert len(facts) == 1
    assert (
        second.locator("form.observed:has(.summary-of-errors) [name=pulse_per_min]").input_value()
        == "82"
    )


def test_a_double_touch_hands_over_once(sign_in: SignIn, store: Store) -> None:
    page = sign_in("ines", **PHONE)
    page.goto(page.locator(".hand").last.get_attribute("href") or "")
    page.locator("#hand-over [name=to]").first.check()

    with recorded(store) as facts:
        page.get_by_role("button", name="Hand over").dblclick()
        page.wait_for_url("**/mine")

    assert [type(one.event.payload) for one in facts] == [Assigned]


def test_a_plain_form_survives_a_lost_line_too(sign_in: SignIn) -> None:
    page = sign_in("charge")
    page.goto(COVER)
    page.locator("[name=covered_id]").select_option("hale")
    page.locator("[name=covering_id]").select_option("brandao")
    page.locator("[name=until_at_time]").fill("23:59")
    page.context.set_offline(True)

    page.get_by_role("button", name="Enter the cover").click()
    expect(page.locator(".unsent")).to_contain_text("There is no connection.", timeout=30_000)
    assert page.locator("[name=covering_id]").input_value() == "brandao"
    page.context.set_offline(False)
    page.get_by_role("button", name="Send again").click()

    expect(page.locator(".cover-row")).to_contain_text("Mateus Brandão covers for", timeout=20_000)


def test_a_refused_plain_form_says_why_in_place(sign_in: SignIn) -> None:
    page = sign_in("charge")
    page.goto(COVER)
    for name in ("covered_id", "covering_id"):
        page.locator(f"[name={name}]").select_option("holm")

    page.get_by_role("button", name="Enter the cover").click()

    expect(page.locator(".summary-of-errors")).to_contain_text("expected a colleague")
    expect(page.locator(".summary-of-errors")).to_be_focused()
    assert page.locator("[name=covering_id]").input_value() == "holm"


def test_leaving_with_something_unsent_is_asked_about(sign_in: SignIn) -> None:
    page = sign_in("priya", **PHONE)
    observe_from_list(page, Hand(page))
    page.context.set_offline(True)
    record_button(page).tap()
    expect(page.locator(".unsent")).to_be_visible(timeout=30_000)
    page.context.set_offline(False)
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", answer)

    page.reload()

    assert asked == ["beforeunload"]


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
        expect(rows).to_have_count(before - 1, timeout=20_000)

    assert {one.event.kind for one in facts} == {Kind.ACKNOWLEDGED}
    assert title.startswith("(")
    assert page.url.endswith("/board")


def test_the_sound_is_switched_off_on_this_device_for_good(sign_in: SignIn) -> None:
    page = sign_in("bo", **PHONE)
    switch = page.locator("[data-sound-switch]")
    expect(switch).to_have_attribute("aria-pressed", "true")

    switch.tap()
    expect(switch).to_have_text(re.compile("Sound off"))
    page.reload()

    expect(page.locator("[data-sound-switch]")).to_have_attribute("aria-pressed", "false")
    kept = page.evaluate("Object.entries(localStorage)")
    assert kept == [["sound", "off"]]


def test_a_new_reminder_is_said_and_counted(sign_in: SignIn) -> None:
    page = sign_in("bo", **PHONE)
    page.evaluate(NEW_REMINDER)

    expect(page.locator("[data-sound-said]")).to_have_text("First check, bed 99, due")
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
