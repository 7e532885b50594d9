"""The paper sheet as Chromium prints it: A4, no unit parted, ward and page on every sheet."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from server.domain.payloads import Issued
from server.domain.picture import Case, picture
from server.domain.words import BloodGroup
from server.pages.sheets.sheet_view import sheet_view
from server.pages.sheets.writing import sheet_html
from server.services.read_board import BoardRow, board_of
from server.store.wards import Ward
from tests.browser.test_record_print import A4_PT, CUT, LEAST_PT, SHEET_PX, SMALL
from tests.domain.builders import PATIENT, at, case
from tests.pages.units import running

WARD: Final = Ward("w1", "Haematology and day care, third floor east", "Europe/London", at(-600))
LONG: Final = replace(
    PATIENT,
    family_name="Featherstonehaugh-Abernathy-Wrenthamsworth",
    given_name="Bartholomew Maximilian Aurelius",
    record_number="RN-0000000000012345678",
)
NURSE: Final = "Alexandrina Montgomery-Fitzwilliam-Thirunavukkarasu"
OUTSIDE: Final = CUT.replace(".record *", ".sheet-paper *")
LABEL: Final = Issued(at(0), "A999926123456", "E0336", BloodGroup.AB_NEG, at(900), 280)


def a_unit(n: int) -> Case:
    """One of three kinds in turn: running, issued, waiting."""
    fields: dict[str, Any] = {"id": f"e{n}", "bed": f"Side room {n} east", "patient": LONG}
    kinds = running(**fields), case((0, LABEL), **fields), case(**fields)
    return replace(kinds[n % 3], zone=ZoneInfo(WARD.timezone))


def sheet_of(count: int) -> str:
    """The file of a ward with so many units, made while the database was away."""
    rows = tuple(BoardRow(picture(a_unit(n), at(12)), NURSE) for n in range(1, count + 1))
    return sheet_html(sheet_view(board_of(WARD, rows, (), at=at(12)), at(11), away=True))


@pytest.mark.parametrize(("count", "most_pages"), [(1, 1), (12, 6), (40, 20)])
def test_a_sheet_prints(browser: Browser, tmp_path: Path, count: int, most_pages: int) -> None:
    file = tmp_path / "ward-w1.html"
    file.write_text(sheet_of(count), "utf-8")
    page = browser.new_page(viewport={"width": SHEET_PX, "height": 900})
    page.goto(file.as_uri())

    printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    page.emulate_media(media="print")
    faults = page.evaluate(SMALL, LEAST_PT), page.evaluate(OUTSIDE)
    width = page.evaluate("document.documentElement.scrollWidth")
    page.close()

    texts = [" ".join(one.extract_text().split()) for one in printed.pages]
    sizes = {tuple(round(float(side)) for side in one.mediabox[2:]) for one in printed.pages}
    assert sizes == {A4_PT}
    assert len(texts) <= most_pages
    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text
        assert f"Paper sheet · {WARD.name}" in text
        assert "As known at 10:11:00 GMT on 3 March 2026" in text
        assert text.count("Bed Side room") == text.count("Fate of the bag")
    whole = " ".join(texts)
    assert [n for n in range(1, count + 1) if f"Bed Side room {n} east" not in whole] == []
    assert whole.count(LONG.full_name) == count
    assert faults == ([], [])
    assert width <= SHEET_PX
