"""A nurse whose line breaks loses nothing typed, is told so, and stores nothing twice."""

from playwright.sync_api import Dialog, Route, expect

from server.domain.payloads import Assigned
from server.domain.words import Kind
from server.store.store import Store
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE, SIGNS, Hand, observe_from_list, record_button, recorded
from tests.browser.ward import WARD

COVER = f"/wards/{WARD}/cover"


def test_a_set_that_meets_no_network_stays_is_said_and_is_sent_again_once(
    sign_in: SignIn, store: Store
) -> None:
    page = sign_in("ines", **PHONE)
    page.clock.install()
    hand = Hand(page)
    observe_from_list(page, hand)
    button = record_button(page)

    with recorded(store) as facts:
        page.context.set_offline(True)
        button.tap()
        notice = page.locator(".unsent")
        happened = page.locator("form.is-unsent [data-happened] .time")
        expect(notice).to_contain_text("Not stored: Record the observations")
        typed = {
            name: page.locator(f"form.is-unsent [name={name}]").input_value() for name in SIGNS
        }
        times = page.locator("form:not(.is-unsent) [data-happened] .time").first
        time, others = happened.input_value(), times.input_value()
        page.clock.run_for("03:00")
        expect(times).not_to_have_value(others)
        expect(happened).to_have_value(time)
        page.context.set_offline(False)
        notice.get_by_role("button", name="Send again").tap()
        expect(page.locator("#recorded")).to_be_visible()

    assert typed == SIGNS
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
        expect(page.locator(".unsent")).to_contain_text("Not stored")
        page.locator(".unsent").get_by_role("button", name="Send again").tap()
        expect(page.locator("#recorded")).to_be_visible()

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
        expect(first.locator("#recorded")).to_be_visible()
        record_button(second).click()
        told = second.locator(".summary-of-errors").first
        expect(told).to_contain_text("Bo Ek recorded the same")

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
    expect(page.locator(".unsent")).to_contain_text("There is no connection.")
    assert page.locator("[name=covering_id]").input_value() == "brandao"
    page.context.set_offline(False)
    page.get_by_role("button", name="Send again").click()

    expect(page.locator(".cover-row")).to_contain_text("Mateus Brandão covers for")


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
    expect(page.locator(".unsent")).to_be_visible()
    page.context.set_offline(False)
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", answer)

    page.reload()

    assert asked == ["beforeunload"]
