"""One device that many share, as the pages see it: badges, PINs, what a script of a page sends."""

from dataclasses import replace
from pathlib import Path
from shutil import copyfile
from typing import Any, Final

from httpx2 import Response

from server.pages.visitors import COOKIE, form_token
from server.services.badges import record_badge
from server.services.board_key import BoardKey
from server.services.enter_staff import enter_staff
from server.services.set_pin import set_pin
from server.store.store import Store
from tests.domain.builders import at
from tests.pages.hospital import PASSWORD, Visit
from tests.services.people import ADMINISTRATOR, COLLEAGUE, NURSE, staff_draft

PIN: Final = "480251"
BADGES: Final = {NURSE.id: "LW-101", COLLEAGUE.id: "LW-102"}
BY_SCRIPT: Final = {"sec-fetch-mode": "cors"}


def enter_badges(kept: Path, file: Path, key: BoardKey) -> None:
    """Copy a database; in the copy Nina and Cleo have badges, PINs and passwords."""
    copyfile(kept, file)
    store = Store(f"sqlite:///{file}")
    with store.write() as session:
        for person in (NURSE, COLLEAGUE):
            draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
            enter_staff(session, ADMINISTRATOR, draft, now=at(0))
            record_badge(session, key, ADMINISTRATOR, person.id, BADGES[person.id], now=at(0))
            set_pin(session, key, person, PIN, now=at(0))
    store.close()


def secret_in(browser: Visit) -> str:
    """The cookie of whoever is signed in."""
    return str(browser.client.cookies.get(COOKIE))


def by_script(browser: Visit, address: str, /, **values: Any) -> Response:
    """What a script of a page sends, with the token of the page."""
    said = {"csrf_token": form_token(secret_in(browser)), **values}
    return browser.post(address, said, **BY_SCRIPT)


def who(browser: Visit) -> tuple[str, bool]:
    """Who is signed in at a browser, and whether the screen is locked."""
    said = browser.get("/who").json()
    return said["person"], said["locked"]
