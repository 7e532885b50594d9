"""The page of an identity check in few words: who reads, signs and what came of it."""

from dataclasses import replace
from typing import Final

from server.domain.payloads import IdentityChecked
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from tests.domain.builders import at
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.services.identity import BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY
from tests.services.people import ADMINISTRATOR, staff_draft

HERE: Final = "/episodes/e1/identity"
SPOKEN: Final = ["name", "date_of_birth"]
# What only the first one's readings hold: as scanned, as shown, and how.
FIRST_READ: Final = (
    BAND,
    "O+",
    "5 March 2026",
    "A9999 26 123456 T",
    "=%5100",
    "as the patient says it",
)


def read_all(browser: Visit, here: str = HERE) -> str:
    """Scan band and bag, and hear the patient; where the last of it leads."""
    for scan in (BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY):
        assert browser.done(here, "scan", scan=scan) == here
    return browser.done(here, "spoken", confirmed=SPOKEN)


def facts(hospital: Hospital) -> list[IdentityChecked]:
    events = hospital.charting.episode(60).events
    return [e.payload for e in events if e.kind is Kind.IDENTITY_CHECKED]  # type: ignore[misc]


def with_password(hospital: Hospital, person: Actor) -> None:
    draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, draft, now=at(0))


def sign(browser: Visit, person: Actor, password: str = PASSWORD) -> Page:
    """Sign as the second person; the page that follows, or the refused one."""
    answer = browser.send(HERE, "second", sign_in_name=person.id, password=password)
    return browser.see(HERE) if answer.status_code == 303 else Page(answer.text)
