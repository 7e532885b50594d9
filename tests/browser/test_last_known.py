"""A ward on PostgreSQL whose database lets nobody in: the board stays, says so, and returns."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from seed_demo.staff import PASSWORD
from seed_demo.tell import tell_ward
from server.clock import utc_now
from server.services.wall_links import make_wall_link
from server.store.store import Store
from tests.browser.ward import ADMIN, WARD
from tests.databases import PostgresServer, closed, postgres
from tests.faults.programs import Served

__all__ = ["postgres"]

BOARD = f"/wards/{WARD}/board"
SAID = re.compile(
    r"The database is away\. This is the board as it was known at \d\d:\d\d:\d\d\. "
    r"Nothing can be recorded; write on paper\."
)
LIST_SAID = re.compile(r"The database is away\. This is your list as it was known at \d\d:\d\d\.")
SECOND = 1_000


@dataclass(frozen=True)
class Open:
    """A ward that is served, with its board and its wall open in two browsers."""

    database: str
    board: Page
    wall: Page
    sheets: Path


@pytest.fixture
def opened(browser: Browser, postgres: PostgresServer, tmp_path: Path) -> Iterator[Open]:
    """The told ward, served by the program, whose paper sheets go into a folder."""
    database, sheets = postgres.empty(), tmp_path / "sheets"
    sheets.mkdir()
    wall = _tell(database)
    settings = {"sheets": str(sheets), "key_file": str(tmp_path / "key")}
    served = Served(database, tmp_path / "log", **settings)
    try:
        served.wait_until_ready()
        with _pages(browser, f"http://127.0.0.1:{served.port}", wall) as (board, wall_page):
            yield Open(database, board, wall_page, sheets)
    finally:
        served.stop()


def _tell(database: str) -> str:
    store, now = Store(database), utc_now()
    tell_ward(store, seed=1, start=now, timezone="Pacific/Auckland")
    with store.write() as session:
        secret = make_wall_link(session, ADMIN, WARD, now=now)
    store.close()
    return f"/wall/{secret}"


@contextmanager
def _pages(browser: Browser, address: str, wall: str) -> Iterator[tuple[Page, Page]]:
    with browser.new_context(base_url=address) as one, browser.new_context(base_url=address) as two:
        board, wall_page = one.new_page(), two.new_page()
        board.goto("/sign-in")
        board.get_by_label("Name you sign in with").fill("charge")
        board.get_by_label("Password").fill(PASSWORD)
        board.get_by_role("button", name="Sign in", exact=True).click()
        board.wait_for_url(lambda place: "/sign-in" not in place)
        board.goto(BOARD)
        wall_page.goto(wall)
        yield board, wall_page


def test_the_board_stays_counts_on_and_returns_without_a_reload(
    opened: Open, postgres: PostgresServer
) -> None:
    board, wall = opened.board, opened.wall
    banners = [page.locator("#banner-away") for page in (board, wall)]
    for banner in banners:
        expect(banner).to_be_hidden()
    rows = board.locator("#rows > li").count()
    board.evaluate("document.stays = true")
    mine = board.context.new_page()
    with mine.expect_response(re.compile(r"/changes$")):
        mine.goto("/mine")

    with closed(postgres, opened.database):
        for banner in banners:
            expect(banner).to_contain_text(SAID)
        expect(mine.locator("#banner-away")).to_contain_text(LIST_SAID)
        before = board.locator("#checked").inner_text()
        board.wait_for_timeout(12 * SECOND)  # longer than a silence would take to be told
        assert board.locator("#checked").inner_text() != before
        expect(board.locator("#banner-lost")).to_be_hidden()
        expect(board.locator("#banner-late")).to_contain_text("Reminders are late")
        sheet = board.context.new_page()
        sheet.goto(BOARD)
        expect(sheet.locator("#banner-away")).to_contain_text(SAID)
        expect(sheet.locator("#rows > li")).to_have_count(rows)
        sheet.get_by_role("link", name="Paper sheet").first.click()
        expect(sheet.locator(".sheet-away")).to_contain_text("The database was away")
        expect(sheet.locator(".sheet-unit")).to_have_count(rows)
    for banner in (*banners, mine.locator("#banner-away")):
        expect(banner).to_be_hidden()
    expect(mine.locator("#banner-lost")).to_be_hidden()

    expect(board.locator("#banner-late")).to_be_hidden()
    assert board.evaluate("document.stays") is True
    assert [file.name for file in opened.sheets.iterdir()] == [f"ward-{WARD}.html"]
