"""A plan where there is little room: on paper, and on a phone at twice its size."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page
from pypdf import PdfReader

from server.store.migrate import migrate
from server.store.store import Store
from tests.browser.planned import PASSWORD, WARD, crowd, fill
from tests.browser.test_record_print import LEAST_PT, SMALL
from tests.browser.ward import Ward, serving
from tests.ports import free_port

NOW = datetime(2026, 3, 3, 14, 30, tzinfo=UTC)
Open = Callable[..., BrowserContext]


@pytest.fixture(params=[fill, crowd], ids=["small", "crowded"])
def ward(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Ward]:
    database, port = f"sqlite:///{tmp_path / 'ward.db'}", free_port()
    migrate(database)
    store = Store(database)
    request.param(store, NOW)
    store.close()
    with serving(database, port, tmp_path / "log", shown=NOW) as process:
        yield Ward(f"http://127.0.0.1:{port}", database, request.node.callspec.id, process)


TOO_WIDE = "document.documentElement.scrollWidth - innerWidth"


def _at_the_plan(context: Open) -> Page:
    page = context().new_page()
    page.goto("/sign-in")
    page.get_by_label("Name you sign in with").fill("carl")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"**/wards/{WARD}/board")
    page.goto(f"/wards/{WARD}/plan")
    return page


def test_a_plan_prints_on_few_sheets(context: Open, ward: Ward) -> None:
    """Everybody and every unit with its times and people; reasons are asked of the screen."""
    page = _at_the_plan(context)
    page.get_by_text("2 s", exact=True).click()
    page.get_by_role("button", name="Ask for a proposal").click()
    page.wait_for_url("**/plan?version=*", timeout=40_000)
    call = page.locator(".plan-unit", has_text="Bed 9").locator(".times dd").first.inner_text()
    names = page.locator(".person .who b").all_inner_texts()
    units = page.locator(".plan-unit:not(.unplaced)").count()

    page.emulate_media(media="print")
    small = [one for one in page.evaluate(SMALL, LEAST_PT) if not one.startswith("<text")]
    sheets = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True))).pages
    paper = " ".join(" ".join(sheet.extract_text().split()) for sheet in sheets)

    assert small == []
    assert len(sheets) <= {"small": 2, "crowded": 6}[ward.wall]
    assert paper.startswith("Quay Ward Printed 3 March 2026 14:3")
    assert f"Call at {call}" in paper
    assert paper.count("Starts it") == units
    assert all(name in paper for name in names)
    assert "watched first minutes bed 4" in paper
    for said in ("Ask for a proposal", "Why then:", "What it is worth", "At another time"):
        assert said not in paper
    assert "It is not a medical device." in paper


def test_neither_plan_nor_duty_is_wider_than_a_phone_at_twice_its_size(context: Open) -> None:
    page = _at_the_plan(context)
    page.set_viewport_size({"width": 195, "height": 422})

    plan = page.evaluate(TOO_WIDE)
    page.get_by_role("link", name="Duty of the day").first.click()
    page.get_by_label("Carl Oduya", exact=True).wait_for()

    assert (plan, page.evaluate(TOO_WIDE)) == (0, 0)
