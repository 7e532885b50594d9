"""The report of a period as Chromium prints it, and a file as it downloads one."""

from io import BytesIO
from typing import Final

from openpyxl import load_workbook
from pypdf import PdfReader

from tests.browser.conftest import SignIn
from tests.browser.ward import WARD

A4_PT: Final = (595, 842)  # ISO 216: 210 by 297 mm
LEAST_PT: Final = 8.0
SHEET_PX: Final = 688  # 182 mm at 96 to the inch: a sheet without its margins
SMALL: Final = """least => [...document.querySelectorAll("main *")]
  .filter(one => one.checkVisibility() && !one.closest(".unseen, svg"))
  .filter(one => [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim()))
  .filter(one => parseFloat(getComputedStyle(one).fontSize) * 72 / 96 < least)
  .map(one => one.outerHTML.slice(0, 120))"""


def test_a_report_prints_on_a4_with_page_numbers_and_can_be_read(sign_in: SignIn) -> None:
    page = sign_in("charge")
    page.goto(f"/wards/{WARD}/report?identity=with")

    printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    sheets = [" ".join(one.extract_text().split()) for one in printed.pages]

    sizes = {tuple(round(float(side)) for side in one.mediabox[2:]) for one in printed.pages}
    assert sizes == {A4_PT}
    for n, sheet in enumerate(sheets, 1):
        assert sheet.startswith(f"page {n} of {len(sheets)}"), sheet[:80]
    together = " ".join(sheets)
    for words in ("In short", "Breaches", "Units accounted for", "Times from issue", "Made "):
        assert words in together
    assert "It is not a medical device." in sheets[-1]
    assert "Sign out" not in together
    page.set_viewport_size({"width": SHEET_PX, "height": 900})
    page.emulate_media(media="print")
    assert page.evaluate(SMALL, LEAST_PT) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= SHEET_PX


def test_a_file_is_downloaded_twice_from_a_page_that_stays(sign_in: SignIn) -> None:
    page = sign_in("charge")
    page.goto(f"/wards/{WARD}/exports?what=units")

    names = []
    for identity in ("Without", "With names"):
        page.get_by_text(identity).check()
        with page.expect_download() as begun:
            page.get_by_role("button", name="Export").click()
        names.append(begun.value.suggested_filename)
        leaf = load_workbook(BytesIO(begun.value.path().read_bytes())).worksheets[0]
        assert leaf.max_row > 10

    assert [name.partition("_")[0] for name in names] == ["units", "units"]
    assert ["no-names" in name for name in names] == [True, False]
    assert page.get_by_role("heading", name="Export").is_visible()
