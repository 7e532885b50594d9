"""The live board in a real browser: its stream, other people's entries, the network's absence."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import NewBrowser, SignIn
from tests.browser.ward import WARD, Ward
from tests.faults.power import standing_still

BOARD = f"/wards/{WARD}/board"
OPENINGS, TABS = 20, 4  # a browser opens six connections to one server


@pytest.mark.timeout(600)
def test_the_board_opens_and_its_stream_connects_twenty_times_of_twenty(sign_in: SignIn) -> None:
    page = sign_in("charge")
    tabs = [page, *(page.context.new_page() for _ in range(TABS - 1))]
    connected = 0

    for _ in range(OPENINGS // TABS):
        for tab in tabs:
            with tab.expect_response(lambda answer: "/board/stream" in answer.url) as stream:
                tab.goto(BOARD)
            connected += stream.value.status == 200
        seen = [tab.locator("#checked").get_attribute("data-at") for tab in tabs]
        for tab, checked in zip(tabs, seen, strict=True):
            expect(tab.locator("#checked")).not_to_have_attribute("data-at", checked or "")

    assert connected == OPENINGS


def test_the_page_breaks_no_content_policy_and_logs_no_error(sign_in: SignIn) -> None:
    page = sign_in("charge")
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda failure: said.append(str(failure)))

    page.goto(BOARD)
    checked = page.locator("#checked")
    first = checked.get_attribute("data-at")
    expect(checked).not_to_have_attribute("data-at", first or "")

    assert said == []


def test_a_recorded_event_appears_in_a_second_browser(sign_in: SignIn) -> None:
    watching, recording = sign_in("charge"), sign_in("bo")
    row = _running_row(watching)

    recording.goto(row.get_by_role("link").first.get_attribute("href") or "")
    _open_form(recording, "Pause")
    recording.get_by_role("button", name=re.compile("pause", re.IGNORECASE)).first.click()

    expect(row).to_contain_text("Paused")


def test_focus_and_half_typed_text_survive_an_update(sign_in: SignIn) -> None:
    typing, recording = sign_in("charge"), sign_in("ines")
    row = _running_row(typing)
    href = row.get_by_role("link").first.get_attribute("href") or ""
    for page in (typing, recording):
        page.goto(href)
    _open_form(typing, "Note")
    field = typing.locator("textarea[name=text]").first
    field.fill("half a sent")
    field.evaluate("field => field.setSelectionRange(4, 4)")

    _open_form(recording, "Note")
    recording.locator("textarea[name=text]").first.fill("from a colleague")
    recording.get_by_role("button", name=re.compile("note", re.IGNORECASE)).first.click()
    expect(typing.locator("#main")).to_contain_text("from a colleague")

    state = field.evaluate("f => [document.activeElement === f, f.value, f.selectionStart]")
    assert state == [True, "half a sent", 4]


def test_the_focused_link_keeps_the_focus_when_its_row_is_replaced(sign_in: SignIn) -> None:
    watching, recording = sign_in("charge"), sign_in("agnes")
    row = _running_row(watching)
    link = row.get_by_role("link").first
    link.focus()

    recording.goto(link.get_attribute("href") or "")
    _open_form(recording, "Pause")
    recording.get_by_role("button", name=re.compile("pause", re.IGNORECASE)).first.click()
    expect(row).to_contain_text("Paused")

    assert row.evaluate("row => row.contains(document.activeElement)") is True


def test_a_lost_network_is_said_and_gone_when_it_is_back(sign_in: SignIn, ward: Ward) -> None:
    """The server stands still, as a cut cable would have it: nothing arrives and nothing ends."""
    page = sign_in("charge")
    page.goto(BOARD)
    banner = page.locator("#banner-lost")
    expect(banner).to_be_hidden()

    with standing_still(ward.process.pid):
        expect(banner).to_contain_text("Disconnected since")

    expect(banner).to_be_hidden()


def test_times_go_on_counting_between_updates(sign_in: SignIn, ward: Ward) -> None:
    page = sign_in("charge")
    page.goto(BOARD)
    checked = page.locator("#checked")

    with standing_still(ward.process.pid):
        before = checked.inner_text()
        expect(checked).not_to_have_text(before)
        expect(checked).to_have_text(re.compile(r"checked \d+ s ago"))


def test_without_scripts_the_board_is_a_page_that_refreshes(sign_in: SignIn) -> None:
    page = sign_in("charge", java_script_enabled=False)
    page.goto(BOARD)

    assert page.locator("#rows > li").count() >= 14
    assert page.locator("meta[http-equiv=refresh]").count() == 1


def test_the_wall_shows_beds_and_initials_and_no_name(
    context: NewBrowser, ward: Ward, sign_in: SignIn
) -> None:
    station = sign_in("charge")
    station.goto(BOARD)
    names = station.locator("#rows .who a b").all_inner_texts()
    wall = context(viewport={"width": 1920, "height": 1080}).new_page()
    wall.goto(ward.wall)
    shown = wall.content()

    assert len(names) >= 14
    assert [name for name in names if re.search(rf"\b{re.escape(name)}\b", shown)] == []


def _running_row(page: Page) -> Locator:
    """The row of a unit that is running: the same one, wherever it goes to."""
    page.goto(BOARD)
    first = page.locator("#rows > li", has_text="mL/h, ends").first
    return page.locator(f"#{first.get_attribute('id')}")


def _open_form(page: Page, name: str) -> None:
    """Open the folded form of that name."""
    summary = page.locator("summary", has_text=re.compile(rf"^\s*{name}")).first
    summary.scroll_into_view_if_needed()
    summary.click()
