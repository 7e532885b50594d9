"""The page of a suspected reaction leads on: to the next step, and to what a set of signs says."""

from playwright.sync_api import APIResponse, Route, expect

from server.domain.payloads import IdentityChecked, Inspected, Issued, Observed, Started
from tests.browser.bedside import LAB, Bedside
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE
from tests.browser.test_pathway import MATCHED

BEFORE = Observed(36.8, 78, 16, 124, 76)
BURNING = {
    "temperature_c": "39.1",
    "pulse_per_min": "118",
    "respirations_per_min": "22",
    "systolic_mmhg": "98",
    "diastolic_mmhg": "56",
}
NOTE_HOW_IT_STANDS = """id => {
  window.stood = [document.getElementById(id).className];
  new MutationObserver(() => {
    const now = document.getElementById(id).className;
    if (window.stood.at(-1) !== now) window.stood.push(now);
  }).observe(document.body, {attributes: true, childList: true, subtree: true});
}"""


def _begin_infusion(unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    for fact in (Inspected(), IdentityChecked("dunmore", MATCHED, "ek"), BEFORE, Started(60)):
        unit.record(fact)


def test_what_was_stored_leads_on_and_leaves_its_form(sign_in: SignIn, unit: Bedside) -> None:
    _begin_infusion(unit)
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}/reaction")
    page.get_by_role("button", name="Suspected reaction").tap()

    page.get_by_role("button", name="Stopped now").tap()
    expect(page.locator("#tick-saline_new_set button")).to_be_focused()
    expect(page.locator("#tick-saline_new_set")).to_be_in_viewport()
    page.locator("#tick-observations a").tap()
    for name, value in BURNING.items():
        page.locator(f"#reaction-observed-{name}").fill(value)
    page.get_by_role("button", name="Record the observations").tap()

    expect(page.locator("#prompted")).to_be_focused()
    expect(page.locator("#prompted")).to_be_in_viewport()
    expect(page.locator("#prompted")).to_contain_text("temperature 39.1 °C")
    expect(page.locator("#reaction-observed-temperature_c")).to_have_value("")
    expect(page.locator("#fold-reaction-observed")).not_to_have_attribute("open", "")


def test_a_refresh_asked_for_before_a_press_takes_nothing_of_it_back(
    sign_in: SignIn, unit: Bedside
) -> None:
    _begin_infusion(unit)
    page = sign_in("agnes", **PHONE)
    held: list[tuple[Route, APIResponse]] = []
    page.goto(f"/episodes/{unit.id}/reaction")
    page.get_by_role("button", name="Suspected reaction").tap()
    stop = page.get_by_role("button", name="Stopped now")
    expect(stop).to_be_visible()
    step = page.locator("#reaction-now .tick", has=stop)
    page.evaluate(NOTE_HOW_IT_STANDS, step.get_attribute("id"))

    def hold(route: Route) -> None:
        held.append((route, route.fetch()))

    page.route("**/reaction/standing", hold, times=1)
    while not held:
        page.wait_for_timeout(20)
    stop.tap()
    expect(page.locator("#tick-saline_new_set button")).to_be_focused()
    ((route, answer),) = held
    with page.expect_response("**/reaction/standing"):
        route.fulfill(response=answer)
    with page.expect_response("**/reaction/standing"):  # the next one, of what stands by now
        pass

    assert page.evaluate("window.stood") == ["tick is-next", "tick is-done"]
    expect(page.locator("#tick-saline_new_set button")).to_be_focused()
