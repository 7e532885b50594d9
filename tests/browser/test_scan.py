"""A scanner on a page: what it types is told from what hands type, wherever the focus is."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.scanner import Wedge
from tests.browser.station import new_unit, patient, station
from tests.browser.test_every_page import AXE

__all__ = ["new_unit", "patient", "station"]

UNIT = "=A99992600000100"
SHOWN = "A9999 26 000001 8"
BAG = "=A99992600000100=%5100=<E0398VA0&>0260652359"
SAID = ".scan-said.read"
REFUSED = ".scan-said.refused"
COUNT_SCANS = """() => {
  window.scans = [];
  document.addEventListener("scan", (event) => window.scans.push(event.detail.text));
}"""

COUNT_PREVENTED = """() => {
  window.prevented = [];
  document.addEventListener("submit", (event) => event.preventDefault(), true);
  window.addEventListener("keyup", ({ key }) => window.prevented.push(window.last[key]));
  window.last = {};
  window.addEventListener("keydown", (event) => {
    window.last[event.key] = event.defaultPrevented;
  });
}"""

Opened = tuple[Page, Wedge]


@pytest.fixture
def opened(station: Page, new_unit: Callable[[], str]) -> Opened:
    """The page of a unit that is to be issued, its form in sight, and a scanner."""
    station.goto(new_unit())
    _show_issue(station)
    station.evaluate(COUNT_SCANS)
    return station, Wedge(station)


def _show_issue(page: Page) -> None:
    """Unfold the form of the issue, whichever step it stands in."""
    page.evaluate(
        """() => {
          const field = document.querySelector("[data-scan=unit_number]");
          for (const place of document.querySelectorAll("details")) {
            if (place.contains(field)) place.open = true;
          }
        }"""
    )
    expect(page.locator("[data-scan=unit_number]")).to_be_visible()


def value(page: Page, name: str) -> str:
    """What stands in the field that asks for a part of a label."""
    return page.locator(f"[data-scan={name}]").first.input_value()


def scans(page: Page) -> list[str]:
    """The reads that the page was told of."""
    found: list[str] = page.evaluate("window.scans")
    return found


def test_a_bag_read_as_one_fills_its_fields_with_the_focus_nowhere(opened: Opened) -> None:
    page, wedge = opened

    wedge.read(BAG, "Enter")

    expect(page.locator(SAID)).to_contain_text("unit number A9999 26 000001 8; product E0398VA0")
    filled = [value(page, name) for name in ("unit_number", "product", "division", "blood_group")]
    assert filled == [SHOWN, "E0398VA0", "A0", "O+"]
    expiry = page.locator("[data-scan=expires_at] input")
    assert [one.input_value() for one in expiry.all()] == ["23:59", "2026-03-06"]


def test_a_read_in_a_field_for_another_thing_is_taken_out_again(opened: Opened) -> None:
    page, wedge = opened
    field = page.locator("input[name=volume_ml]").first
    field.fill("275")

    wedge.read(UNIT, "Enter")

    expect(page.locator("[data-scan=unit_number]")).to_have_value(SHOWN)
    assert (field.input_value(), scans(page)) == ("275", [UNIT])
    assert field.evaluate("field => document.activeElement === field") is True


@pytest.mark.parametrize("ends", [("Enter",), ("Enter", "Enter"), ("Tab",), ("Tab", "Enter")])
def test_a_terminator_presses_no_button_and_moves_no_focus(
    opened: Opened, ends: tuple[str, ...]
) -> None:
    page, wedge = opened
    button = page.get_by_role("button", name="Record the issue")
    button.focus()
    address = page.url

    wedge.read(UNIT, *ends)

    expect(page.locator("[data-scan=unit_number]")).to_have_value(SHOWN)
    assert (page.url, scans(page)) == (address, [UNIT])
    assert button.evaluate("button => document.activeElement === button") is True


def test_a_blank_inside_a_read_presses_no_button(opened: Opened) -> None:
    page, wedge = opened
    page.get_by_role("button", name="Record the issue").focus()
    address = page.url

    wedge.read("T00 0001", "Enter")

    expect(page.locator(REFUSED)).not_to_have_text("Not read")
    assert (page.url, scans(page)) == (address, ["T00 0001"])


def test_a_scanner_without_a_terminator_is_read_after_a_pause(opened: Opened) -> None:
    page, wedge = opened

    wedge.read(UNIT + "=%5100")

    expect(page.locator("[data-scan=blood_group]")).to_have_value("O+")
    assert (value(page, "unit_number"), scans(page)) == (SHOWN, [UNIT + "=%5100"])


def test_the_same_read_twice_is_one(opened: Opened) -> None:
    """Within a second and a half: here no time passes at all between the two."""
    page, wedge = opened
    page.evaluate("at => { performance.now = () => at; }", page.evaluate("performance.now()"))

    for _ in range(2):
        wedge.read(UNIT, "Enter")

    expect(page.locator("[data-scan=unit_number]")).to_have_value(SHOWN)
    assert scans(page) == [UNIT]


def test_another_bag_in_a_field_that_was_filled_is_said(opened: Opened) -> None:
    page, wedge = opened
    wedge.read(UNIT, "Enter")
    expect(page.locator("[data-scan=unit_number]")).to_have_value(SHOWN)

    wedge.read("=A99992600000200", "Enter")

    expect(page.locator(SAID)).to_contain_text("(in place of another)")


def test_caps_lock_is_noticed(opened: Opened) -> None:
    page, wedge = opened

    wedge.read(UNIT.swapcase(), "Enter")

    expect(page.locator(REFUSED)).to_contain_text("is Caps Lock on?")
    assert value(page, "unit_number") == ""


def test_a_malformed_read_is_refused_with_its_reason(opened: Opened) -> None:
    page, wedge = opened
    page.locator("[data-scan=unit_number]").fill("kept")

    wedge.read("=%510", "Enter")

    expect(page.locator(REFUSED)).to_have_text(
        "Not readThe group is cut short; expected 4 characters."
    )
    expect(page.locator(REFUSED)).to_have_attribute("role", "alert")
    assert value(page, "unit_number") == "kept"


def test_a_bag_in_quarantine_stops(opened: Opened) -> None:
    page, wedge = opened

    wedge.read("=%Mq00", "Enter")

    expect(page.locator(".scan-said.stop")).to_contain_text("StopIt is in quarantine or on hold.")


def test_a_record_number_is_told_although_nothing_asks_for_it(opened: Opened) -> None:
    page, wedge = opened

    wedge.read("T000001", "Enter")

    expect(page.locator(SAID)).to_contain_text("record number T000001. Nothing on this page asks")


def test_a_page_may_take_a_read_for_itself(opened: Opened) -> None:
    page, wedge = opened
    page.evaluate("document.addEventListener('scan', (event) => event.preventDefault())")

    wedge.read(UNIT, "Enter")
    page.wait_for_timeout(500)

    assert (scans(page), value(page, "unit_number")) == ([UNIT], "")
    expect(page.locator(SAID)).to_have_attribute("data-empty", "yes")


@pytest.mark.parametrize("stuck_ms", [100, 320])
def test_half_a_read_is_no_read(opened: Opened, stuck_ms: float) -> None:
    page, wedge = opened
    page.get_by_role("button", name="Record the issue").focus()
    address = page.url

    wedge.read(UNIT, "Enter", stuck_ms=stuck_ms)

    expect(page.locator(REFUSED)).to_have_text(
        "Not readThe read was broken off half-way. Scan it again."
    )
    assert (page.url, scans(page), value(page, "unit_number")) == (address, [], "")


def test_what_hands_type_stays(opened: Opened) -> None:
    page, wedge = opened
    field = page.locator("[data-scan=unit_number]")
    field.focus()

    wedge.by_hand(UNIT)
    page.wait_for_timeout(400)

    assert (field.input_value(), scans(page)) == (UNIT, [])


def test_words_typed_fast_are_no_read(opened: Opened) -> None:
    page, wedge = opened
    page.locator("summary", has_text="Note").first.click()
    note = page.locator("textarea[name=text]").first
    note.focus()

    wedge.read("seen by 2 at 14:20", "Enter", "x")
    page.wait_for_timeout(400)

    assert (note.input_value(), scans(page)) == ("seen by 2 at 14:20\nx", [])


@pytest.mark.parametrize("key", ["Tab", "Enter"])
def test_a_key_after_the_pause_of_somebody_who_types_does_what_it_does(
    opened: Opened, key: str
) -> None:
    """The pause would have ended a read; again and again, as a key that is held down."""
    page, wedge = opened
    field = page.locator("input[name=volume_ml]").first
    field.focus()
    page.evaluate(COUNT_PREVENTED)

    wedge.by_hand("3")
    page.wait_for_timeout(260)
    for _ in range(3):
        wedge.by_hand("", key)

    assert page.evaluate("window.prevented") == [False] * 4


def test_hands_press_buttons_as_ever(opened: Opened) -> None:
    page, wedge = opened
    page.locator("[data-scan=unit_number]").fill(SHOWN)
    page.get_by_role("button", name="Record the issue").focus()

    wedge.by_hand("", "Enter")

    expect(page.locator("#recorded")).to_contain_text("Issued")


@pytest.mark.parametrize("width", [390, 1280])
def test_what_was_read_is_accessible(opened: Opened, width: int) -> None:
    page, wedge = opened
    page.set_viewport_size({"width": width, "height": 800})
    for scan, place in ((BAG, SAID), ("=%510", REFUSED)):
        wedge.read(scan, "Enter")
        expect(page.locator(place)).not_to_have_attribute("data-empty", "yes")
        page.evaluate(AXE)
        found = page.evaluate("axe.run('.banners', {resultTypes: ['violations']})")["violations"]
        assert [one["id"] for one in found] == []
