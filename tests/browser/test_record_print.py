"""The record for the notes as Chromium prints it: one sheet, or several that each say whose."""

from datetime import timedelta
from io import BytesIO
from typing import Final

from playwright.sync_api import Page
from pypdf import PdfReader

from server.clock import utc_now
from server.domain.payloads import (
    Completed,
    Confirmed,
    FateRecorded,
    Flushed,
    IdentityChecked,
    Inspected,
    Issued,
    Note,
    Observed,
    Payload,
    RateSet,
    Received,
    SetHung,
    Spiked,
    Started,
    VolumeRead,
)
from server.domain.payloads.bedside import CheckedItem
from server.domain.words import BloodGroup, Confirmation, Consciousness, Fate
from server.services.record_event import Draft, record_event
from server.store.store import Store
from tests.browser.bedside import BO, KIND, Bedside
from tests.browser.conftest import SignIn

LEAST_PT: Final = 8.0
A4_PT: Final = (595, 842)  # ISO 216: 210 by 297 mm
SHEET_PX: Final = 710  # 188 mm at 96 to the inch: a sheet without its margins
ITEMS: Final = ("name", "date_of_birth", "record_number", "blood_group", "expiry", "unit_number")
SET: Final = Observed(36.8, 78, 16, 124, 76, 97, False, Consciousness.ALERT)
ORDINARY: Final[tuple[tuple[int, Payload], ...]] = (
    (-25, Confirmed(Confirmation.ORDER_CONSENT)),
    (-24, Confirmed(Confirmation.GROUP_SAMPLE)),
    (-23, Confirmed(Confirmation.ACCESS, "left forearm", "18G")),
    (5, Received()),
    (6, Inspected()),
    (10, SET),
    (12, IdentityChecked("ek", tuple(CheckedItem(one, matched=True) for one in ITEMS), "marlow")),
    (13, Spiked()),
    (13, SetHung()),
    (15, Started(60)),
    (30, SET),
    (31, Confirmed(Confirmation.RATE_REVIEWED)),
    (31, RateSet(90)),
    (60, SET),
    (75, VolumeRead(80)),
    (90, SET),
    (91, RateSet(120)),
    (120, SET),
    (150, SET),
    (155, Note("warm blanket given")),
    (180, SET),
    (185, Completed(280)),
    (187, Flushed(5)),
    (195, SET),
    (200, FateRecorded(Fate.TRANSFUSED)),
)
"""By minutes from the issue: 8 sets of signs and 17 other facts, an ordinary unit."""
# What is written smaller than it may be on paper, and what reaches out of its sheet.
SMALL: Final = """least => [...document.querySelectorAll("body *")]
  .filter(one => one.checkVisibility() && !one.closest(".unseen"))
  .filter(one => [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim()))
  .filter(one => parseFloat(getComputedStyle(one).fontSize) * 72 / 96 < least)
  .map(one => one.outerHTML.slice(0, 120))"""
CUT: Final = """() => [...document.querySelectorAll(".record *")]
  .filter(one => one.checkVisibility() && !one.closest(".unseen"))
  .filter(one => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .map(one => one.outerHTML.slice(0, 120))"""


def tell(store: Store, unit: Bedside, *more: Payload) -> None:
    """The unit is issued five hours ago, and each fact recorded as it happens."""
    begun = utc_now() - timedelta(hours=5)
    label = Issued(
        unit_number=unit.number, blood_group=BloodGroup(unit.group), expires_at=unit.expires
    )
    late = ((201 + place // 10, payload) for place, payload in enumerate(more))
    with store.write() as session:
        for minute, payload in ((0, label), *ORDINARY, *late):
            at = begun + timedelta(minutes=minute)
            draft = Draft(KIND[type(payload)], at, payload)
            record_event(session, BO, unit.id, draft, now=at)


def sheets(page: Page, unit: Bedside) -> list[str]:
    """The texts of the sheets that the record of a unit is printed on."""
    page.goto(f"/episodes/{unit.id}/record")
    printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    sizes = {tuple(round(float(side)) for side in one.mediabox[2:]) for one in printed.pages}
    assert sizes == {A4_PT}
    return [" ".join(one.extract_text().split()) for one in printed.pages]


def test_an_ordinary_unit_is_on_one_sheet_and_can_be_read(
    sign_in: SignIn, store: Store, unit: Bedside
) -> None:
    tell(store, unit)
    page = sign_in("charge")

    (sheet,) = sheets(page, unit)

    assert sheet.count("Bo Ek") >= 24
    assert sheet.startswith("page 1 of 1")
    assert sheet.endswith("It is not a medical device.")
    asked = ("warm blanket given", "No limit was passed.", "Signature", "Date and time")
    assert [said for said in asked if said not in sheet] == []
    page.set_viewport_size({"width": SHEET_PX, "height": 900})
    page.emulate_media(media="print")
    assert (page.evaluate(SMALL, LEAST_PT), page.evaluate(CUT)) == ([], [])
    assert page.evaluate("document.documentElement.scrollWidth") <= SHEET_PX


def test_a_long_unit_says_on_every_sheet_whose_it_is(
    sign_in: SignIn, store: Store, unit: Bedside
) -> None:
    remarks = [f"remark {n} of many, to fill more than one sheet" for n in range(1, 91)]
    tell(store, unit, *(Note(remark) for remark in remarks))
    page = sign_in("charge")

    printed = sheets(page, unit)

    assert len(printed) >= 2
    number = page.locator(".record-head dd").last.inner_text()
    head = f"Patient Tamsin, Orla Born 14 July 1958 Record number {unit.band} Unit {number}"
    for n, sheet in enumerate(printed, 1):
        assert sheet.startswith(f"page {n} of {len(printed)}")
        assert sheet.count(f"Record of one transfusion {head}") == 1, sheet[:200]
    together = " ".join(printed)
    assert [remark for remark in remarks if remark not in together] == []
    # A table that goes on has its heads again.
    assert "Time Entry By" in printed[1]
