"""At the bedside on a phone: a fresh unit to its start, two people apart, a line that breaks."""

import re

from playwright.sync_api import Locator, Page, Route, expect

from seed_demo.staff import PASSWORD
from server.domain.payloads import IdentityChecked, Observed, Started
from server.domain.words import Kind
from server.store.store import Store
from tests.browser.bedside import Bedside
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE, SIGNS, Hand, recorded
from tests.browser.scanner import Wedge

READ = "#items-title"


def is_read(page: Page, count: int) -> None:
    """So many items of the reader's are in."""
    expect(page.locator(READ)).to_have_text(f"Read {count} of 6")
    page.wait_for_load_state()  # after the first scan, which led here


def read_all(page: Page, hand: Hand, unit: Bedside) -> None:
    """Scan band and bag and hear the patient, for one of the two."""
    wedge = Wedge(page)
    for count, code in zip((1, 3, 4), (unit.band, *unit.labels), strict=True):
        hand.scan(wedge, code)
        is_read(page, count)
    hand.touch(page.locator("#spoken button"))


def record_baseline(page: Page) -> Locator:
    """Type a set of signs into the baseline; its button."""
    for name, digits in SIGNS.items():
        page.locator(f"#baseline-observed-{name}").fill(digits)
    return page.locator("#baseline-observed").get_by_role("button", name="Record the observations")


def test_a_fresh_unit_is_started_by_two_on_one_device_in_fourteen_acts(
    sign_in: SignIn, unit: Bedside, store: Store
) -> None:
    """A press, a scan or a typed field counts one; the baseline set is an act of its own."""
    unit.issue()
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}")
    hand, dock = Hand(page), page.get_by_role("navigation", name="At hand")

    with recorded(store) as facts:
        hand.touch(dock.get_by_role("button", name="Confirm all 3; received, bag sound"))
        expect(page.locator("#step-identity")).to_have_class(re.compile("present"))
        read_all(page, hand, unit)  # the first scan leads to the page of the check
        hand.fill(page.get_by_label("Name of the second person"), "bo")
        hand.fill(page.get_by_label("Their password"), PASSWORD)
        hand.touch(page.get_by_role("button", name="Sign as the second person"))
        expect(page.locator("#now-title")).to_contain_text("Bo Ek reads, as the second person")
        read_all(page, hand, unit)
        expect(page.locator("#fold-baseline > summary")).to_be_focused()
        record_baseline(page).tap()
        expect(page.locator("#fold-line > summary")).to_be_focused()
        hand.touch(dock.get_by_role("button", name="Spiked, new set primed"))
        expect(page.locator("#fold-start > summary")).to_be_focused()
        hand.touch(page.get_by_role("button", name="Record the start"))
        expect(page.locator("#fold-first > summary")).to_be_focused()

    said = [one.event.payload for one in facts if one.event.episode_id == unit.id]
    (check,) = (one for one in said if isinstance(one, IdentityChecked))
    assert (check.passed, check.first_by, check.second_by) == (True, "dunmore", "ek")
    assert [one.rate_ml_h for one in said if isinstance(one, Started)] == [60.0]
    assert hand.touches <= 14


def test_the_second_device_is_sent_nothing_of_what_the_first_read(
    sign_in: SignIn, unit: Bedside
) -> None:
    unit.issue()
    first, second = sign_in("agnes", **PHONE), sign_in("bo", **PHONE)
    bodies: list[str] = []

    def note(route: Route) -> None:
        answer = route.fetch()
        bodies.append(answer.text())
        route.fulfill(response=answer)

    second.route(f"**/episodes/{unit.id}/identity**", note)
    address = f"/episodes/{unit.id}/identity"
    first.goto(address)
    second.goto(address)
    shown = f"{unit.expires.day} {unit.expires:%B %Y}, 23:59"
    secrets = (unit.number[-6:], shown, "as the patient says it")

    read_all(first, Hand(first), unit)
    expect(first.locator("#waiting")).to_contain_text("Waiting for the second person")
    second.reload()
    expect(second.locator("#identity")).to_contain_text("Agnes Dunmore has begun a check")
    Wedge(second).read(unit.band, "Enter")
    is_read(second, 1)

    assert all(secret in first.content() for secret in secrets)
    assert len(bodies) >= 3
    assert [secret for secret in secrets if any(secret in body for body in bodies)] == []
    expect(first.locator("#waiting")).to_contain_text("Bo Ek is reading: 5 items left")
    second.unroute_all(behavior="wait")  # it asks by itself again and again


def test_a_question_of_who_waited_takes_no_page_away_from_the_second_person(
    sign_in: SignIn, unit: Bedside
) -> None:
    unit.issue()
    page, held = sign_in("agnes", **PHONE), list[Route]()
    page.goto(f"/episodes/{unit.id}/identity")

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/identity/waiting", hold, times=1)
    read_all(page, Hand(page), unit)
    while not held:
        page.wait_for_timeout(20)
    page.get_by_label("Name of the second person").fill("bo")
    page.get_by_label("Their password").fill(PASSWORD)
    page.get_by_role("button", name="Sign as the second person").tap()
    expect(page.locator("#now-title")).to_contain_text("Bo Ek reads")
    page.evaluate("document.stays = true")

    with page.expect_response("**/identity/waiting"):
        held[0].continue_()
    Wedge(page).read(unit.band, "Enter")
    is_read(page, 1)

    assert page.evaluate("document.stays") is True


def test_when_both_have_read_each_sees_the_other(sign_in: SignIn, unit: Bedside) -> None:
    unit.issue()
    first, second = sign_in("agnes", **PHONE), sign_in("bo", **PHONE)
    for page in (first, second):
        page.goto(f"/episodes/{unit.id}/identity")
        read_all(page, Hand(page), unit)

    second.wait_for_url(re.compile(r"/episodes/[^/]+\?recorded="))
    expect(first.locator("#ended-title")).to_contain_text("Everything agrees")
    number = first.locator("#item-unit_number")
    expect(number).to_contain_text("Agnes Dunmore")
    expect(number).to_contain_text("Bo Ek")


def test_a_line_that_breaks_half_way_through_a_form_loses_nothing(
    sign_in: SignIn, unit: Bedside, store: Store
) -> None:
    unit.issue()
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=baseline&do=observed#step-baseline")
    page.keyboard.type("36.9")

    with recorded(store) as facts:
        with page.expect_event("requestfailed"):  # what the page asks for by itself
            page.context.set_offline(True)
        record_baseline(page).tap()
        notice = page.locator(".unsent")
        expect(notice).to_contain_text("Not stored: Record the observations")
        typed = {name: page.locator(f"#baseline-observed-{name}").input_value() for name in SIGNS}
        page.context.set_offline(False)
        notice.get_by_role("button", name="Send again").dblclick()
        expect(page.locator("#recorded")).to_be_visible()
        page.wait_for_timeout(500)

    assert typed == SIGNS
    assert [one.event.kind for one in facts if one.event.episode_id == unit.id] == [Kind.OBSERVED]


def test_a_double_tap_stores_one_set(sign_in: SignIn, unit: Bedside, store: Store) -> None:
    unit.issue()
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=baseline&do=observed#step-baseline")

    with recorded(store) as facts:
        record_baseline(page).dblclick()
        expect(page.locator("#recorded")).to_be_visible()
        page.wait_for_timeout(500)

    assert [one.event.kind for one in facts if one.event.episode_id == unit.id] == [Kind.OBSERVED]


def test_a_set_of_a_colleague_is_seen_before_ones_own_is_sent(
    sign_in: SignIn, unit: Bedside, store: Store
) -> None:
    unit.issue()
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=baseline&do=observed#step-baseline")
    button = record_baseline(page)

    with recorded(store) as facts:
        unit.record(Observed(36.9, 91, 16, 124, 76))
        expect(page.locator("#step-baseline .done-list")).to_contain_text("91")
        kept = page.locator("#baseline-observed-pulse_per_min").input_value()
        button.tap()
        expect(page.locator(".summary-of-errors").first).to_contain_text("Bo Ek recorded the same")

    assert (kept, len(facts)) == ("82", 1)
