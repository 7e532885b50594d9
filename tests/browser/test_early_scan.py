"""A scanner does not wait for a page: what it types before the scripts run is read, too."""

import pytest
from playwright.sync_api import Route, expect

from server.domain.payloads import Confirmed, Inspected, Received
from server.domain.words import Confirmation
from tests.browser.bedside import Bedside
from tests.browser.conftest import SignIn
from tests.browser.scanner import Wedge


@pytest.mark.parametrize("where", ["", "/identity"], ids=["nowhere", "in the field of the scan"])
def test_a_scan_before_the_scripts_run_is_read(sign_in: SignIn, unit: Bedside, where: str) -> None:
    """The page is drawn and its scripts are held back; the scanner does not wait for them."""
    unit.issue()
    unit.record(Received())
    unit.record(Inspected())
    for step in (Confirmation.ORDER_CONSENT, Confirmation.GROUP_SAMPLE, Confirmation.ACCESS):
        unit.record(Confirmed(step))
    page = sign_in("agnes")

    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/static/js/scan.js", hold, times=1)
    page.goto(f"/episodes/{unit.id}{where}", wait_until="commit")
    page.locator("#identity, #step-identity").wait_for()
    assert page.evaluate("document.readyState") != "complete"
    Wedge(page).read(unit.labels[0], "Enter")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()

    expect(page.locator("#items-title")).to_have_text("Read 2 of 6")
    expect(page.locator("#scan [name=scan]")).to_have_value("")
