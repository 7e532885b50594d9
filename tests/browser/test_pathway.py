"""A nurse walks the pathway on a phone: few touches, the next step open, nothing typed is lost."""

import re

import pytest
from playwright.sync_api import Page, expect

from server.domain.payloads import CheckedItem, IdentityChecked, Issued, Received
from tests.browser.bedside import LAB, Bedside
from tests.browser.conftest import SignIn
from tests.browser.hand import PHONE

ITEMS = ("name", "date_of_birth", "record_number", "blood_group", "expiry", "unit_number")
MATCHED = tuple(CheckedItem(item, matched=True) for item in ITEMS)
CHECKED = IdentityChecked("dunmore", MATCHED, "ek")


def step(page: Page) -> str:
    present = page.locator(".step.present")
    return (present.get_attribute("id") or "").removeprefix("step-")


def is_at(page: Page, key: str) -> None:
    """The step is present, open, alone, and its heading has the focus."""
    expect(page.locator(f"#step-{key}")).to_have_class(re.compile("present"))
    expect(page.locator(f"#fold-{key} > summary")).to_be_focused()
    assert page.locator(".step > details[open]").count() == 1


def test_a_unit_is_brought_to_its_start_in_few_touches(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}")
    dock = page.get_by_role("navigation", name="At hand")

    dock.get_by_role("button", name="Confirm all 3 only").tap()
    is_at(page, "receipt")
    dock.get_by_role("button", name="Received, the bag is sound").tap()
    is_at(page, "identity")
    unit.record(CHECKED)
    expect(page.locator("#step-baseline")).to_have_class(re.compile("present"))
    for name, value in (("temperature_c", "36.8"), ("pulse_per_min", "78")):
        page.locator(f"#baseline-observed-{name}").fill(value)
    for name, value in (("respirations_per_min", "16"), ("systolic_mmhg", "120")):
        page.locator(f"#baseline-observed-{name}").fill(value)
    page.locator("#baseline-observed-diastolic_mmhg").fill("70")
    page.get_by_role("button", name="Record the observations").first.tap()
    is_at(page, "line")
    dock.get_by_role("button", name="Spiked, new set primed").tap()
    is_at(page, "start")
    page.locator("#start-started-rate_ml_h").fill("55")
    page.get_by_role("button", name="Record the start").tap()
    is_at(page, "first")

    expect(page.locator("#recorded")).to_contain_text("Recorded: Started")
    expect(page.locator("#recorded")).to_be_in_viewport()


def test_what_is_typed_stays_when_a_colleague_records(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=access#step-access")
    page.locator("#fold-access-confirmed > summary").tap()
    page.locator("#access-confirmed-site").fill("left fore")

    unit.record(Received())

    done = page.locator("#step-receipt .done-list")
    expect(done).to_contain_text("Received on the ward")
    expect(page.locator("#access-confirmed-site")).to_have_value("left fore")
    expect(page.locator("#access-confirmed-site")).to_be_focused()


def test_a_mistake_is_corrected_where_it_is_said(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=receipt")
    page.locator("#receipt-press-sound button").tap()
    saved = page.locator("#recorded")

    saved.get_by_text("Correct this").tap()
    saved.get_by_label("What was the mistake").first.fill("not here yet")
    saved.get_by_role("button", name="Void this entry").first.tap()

    expect(page.locator("#history")).to_contain_text("not here yet")
    expect(page.locator("#recorded")).to_contain_text("Voided an entry")


def test_an_address_opens_the_step_it_names(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes", **PHONE)

    page.goto(f"/episodes/{unit.id}?step=baseline")

    expect(page.locator("#fold-baseline > summary")).to_be_focused()
    assert page.locator(".step > details[open]").count() == 1
    assert step(page) == "consent"


def test_what_is_missing_leads_to_where_it_is_done(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes", **PHONE)
    page.goto(f"/episodes/{unit.id}?step=start")

    page.get_by_role("link", name="the bag was not inspected").tap()

    expect(page.locator("#fold-receipt > summary")).to_be_focused()
    expect(page.locator("#fold-receipt")).to_have_attribute("open", "")


def test_the_keyboard_alone_walks_on(sign_in: SignIn, unit: Bedside) -> None:
    unit.record(Issued(), LAB)
    page = sign_in("agnes")
    page.goto(f"/episodes/{unit.id}?step=receipt")
    expect(page.locator("#fold-receipt > summary")).to_be_focused()

    page.keyboard.press("Tab")
    page.keyboard.press("Enter")

    expect(page.locator("#recorded")).to_contain_text("Bag inspected")


@pytest.mark.parametrize("width", [195, 320, 390, 1280])
def test_nothing_is_wider_than_the_screen(sign_in: SignIn, unit: Bedside, width: int) -> None:
    """195 px are a phone of 390 px at twice the size of text."""
    unit.record(Issued(), LAB)
    page = sign_in("agnes", viewport={"width": width, "height": 844})

    page.goto(f"/episodes/{unit.id}?step=baseline")

    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
