"""The number pad of the page, by touch alone: a set without any key of the device."""

from playwright.sync_api import expect

from server.domain.payloads import Observed
from server.store.store import Store
from tests.browser.bedside import Bedside
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE, recorded

ACTIVE = "document.activeElement.name"
COVERED = """() => {
  const pad = document.getElementById("number-pad").getBoundingClientRect();
  const field = document.activeElement.closest(".sign").getBoundingClientRect();
  return field.bottom > pad.top || field.top < 0;
}"""
HEIGHTS = "[...document.querySelectorAll('#number-pad button')].map(key => key.offsetHeight)"


def test_a_set_is_typed_by_touch_alone_and_the_device_remembers(
    sign_in: SignIn, unit: Bedside, store: Store
) -> None:
    unit.issue()
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=baseline&do=observed#step-baseline")
    pad = page.get_by_role("group", name="Number pad")
    expect(page.locator("#baseline-observed-temperature_c")).to_be_focused()

    assert min(page.evaluate(HEIGHTS)) >= 44
    for sign in ("36.8", "78", "16", "124", "7"):
        assert page.evaluate(COVERED) is False
        for digit in sign:
            pad.locator(f"[data-type='{digit}']").tap()
    expect(page.locator("#baseline-observed-diastolic_mmhg")).to_have_value("7")
    # A slip is taken back; what was led to by itself is not skipped by a Next out of habit.
    pad.get_by_role("button", name="Take the last digit back").tap()
    page.evaluate("at => { performance.now = () => at; }", page.evaluate("performance.now()"))
    for digit in "76":
        pad.locator(f"[data-type='{digit}']").tap()
    assert page.evaluate(ACTIVE) == "spo2_percent"
    pad.get_by_role("button", name="Next").tap()
    assert page.evaluate(ACTIVE) == "spo2_percent"

    pad.get_by_role("button", name="Device keyboard").tap()
    expect(pad).to_be_hidden()
    assert page.evaluate("document.activeElement.inputMode") == "decimal"
    page.reload()
    page.locator("#baseline-observed-pulse_per_min").tap()
    expect(pad).to_be_hidden()
    page.get_by_role("button", name="Number pad").tap()
    expect(pad).to_be_visible()

    for name, value in (("temperature_c", "368"), ("pulse_per_min", "78")):
        page.locator(f"#baseline-observed-{name}").tap()
        for digit in value:
            pad.locator(f"[data-type='{digit}']").tap()
    with recorded(store) as facts:
        page.locator("#baseline-observed").get_by_role("button", name="Record the").tap()
        expect(page.locator("#recorded")).to_be_visible()
    assert [one.event.payload for one in facts] == [Observed(36.8, 78)]


def test_with_a_mouse_there_is_no_pad(sign_in: SignIn, unit: Bedside) -> None:
    unit.issue()
    page = sign_in("agnes")
    page.goto(f"/episodes/{unit.id}?step=baseline&do=observed#step-baseline")

    expect(page.locator("#baseline-observed-temperature_c")).to_be_focused()
    expect(page.locator("#number-pad")).to_be_hidden()
    expect(page.locator("#pad-way")).to_be_hidden()
