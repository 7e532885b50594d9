"""Units of two wards, and files taken away from one of them as a browser asks for them."""

import csv
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

from httpx2 import Response
from openpyxl import load_workbook

from server.domain.payloads import CauseGiven, Completed, FateRecorded
from server.domain.words import ClockName, Fate
from tests.domain.builders import POLICIES, at
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page

PATH = "/wards/w1/exports"
DAYS = {"from": "2026-03-03", "to": "2026-03-03"}
NUMBER = "G123426000017"
COMMON = POLICIES["common"]


def chart(hospital: Hospital) -> None:
    """A unit whose first check was missed, with its cause; and one of a patient elsewhere."""
    charting = hospital.charting
    charting.open("given", "p1")
    charting.issue(
        "given", unit_number=NUMBER, product_code="E0336", division="00", removed_at=at(-2)
    )
    charting.observe(5, "p1")
    charting.start("given")
    charting.record(90, Completed(), "given")
    charting.observe(95, "p1")
    charting.record(100, FateRecorded(Fate.TRANSFUSED), "given")
    cause = CauseGiven(ClockName.FIRST_CHECK, "handover", text="=HYPERLINK(Ida Alder)", n=1)
    charting.record(101, cause, "given")
    charting.open("elsewhere", "p9", ward_id="w2")
    hospital.clock.now = at(600)


def form(browser: Visit, query: str = "", **typed: str) -> Response:
    """Fill the form in and send it."""
    sent = browser.see(f"{PATH}{query}").form("export")
    return browser.post(sent.action, sent.filled(DAYS | typed))  # type: ignore[arg-type]


def rows(answer: Response) -> list[tuple[Any, ...]]:
    """The rows of a workbook, the head first."""
    assert answer.status_code == 200, Page(answer.text).errors
    return list(load_workbook(BytesIO(answer.content)).worksheets[0].iter_rows(values_only=True))


def lines(answer: Response, name: str) -> list[list[str]]:
    """The lines of a file in an archive."""
    with ZipFile(BytesIO(answer.content)) as archive:
        return list(csv.reader(StringIO(archive.read(name).decode(), newline="")))
