"""What a page answers when it fails: a page, or a message beside what was typed."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from server.pages.answers import FAILED
from tests.pages.hospital import PART, Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.services.people import NURSE


class Broken:
    """A database that fails in a way that nobody foresaw."""

    def read(self) -> Any:
        """Fail."""
        raise RuntimeError("Ida Alder broke it")


@contextmanager
def broken(hospital: Hospital) -> Iterator[None]:
    """While it is so, every look at the database fails."""
    hospital.app.state.store = Broken()
    try:
        yield
    finally:
        hospital.app.state.store = hospital.store


def test_a_mistake_of_ours_is_a_page_that_tells_nothing(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    nurse.see("/episodes/e1")

    with broken(hospital):
        answer = nurse.get("/episodes/e1")

    text, number = Page(answer.text).text, answer.headers["x-request-id"]
    assert (answer.status_code, "Alder" in answer.text) == (500, False)
    assert FAILED in text
    assert f"Number for whoever keeps the board running: {number}" in text


def test_in_place_the_message_stands_beside_what_was_typed(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    nurse.see("/episodes/e1")

    with broken(hospital):
        answer = nurse.get("/episodes/e1/standing", **PART)

    assert (answer.headers["hx-retarget"], answer.headers["hx-reswap"]) == ("#problem", "outerHTML")
    assert answer.text.startswith('<div class="notice high" role="alert" id="problem"')


def test_a_locked_database_loses_nothing_that_was_typed(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("record-note")
    other = sqlite3.connect(hospital.file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    answer = nurse.post(form.action, form.filled({"text": "what I saw"}))
    other.rollback()
    other.close()

    page = Page(answer.text)
    kept = page.form("record-note")
    assert (answer.status_code, kept.values["text"]) == (503, ["what I saw"])
    assert "The database is away. Nothing was recorded; what you typed is kept." in page.text
    assert nurse.post(kept.action, kept.filled({})).status_code == 303


def test_a_wrong_address_is_told_by_what_is_wrong_in_it(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    answer = hospital.visit(NURSE).get(f"/episodes/e1?recorded={'x' * 65}")

    assert answer.status_code == 422
    assert "The address is wrong in: recorded." in Page(answer.text).text
