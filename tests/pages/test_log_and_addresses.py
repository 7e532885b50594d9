"""A whole transfusion by its pages: nothing of the patient in the log or in an address."""

import logging
from typing import Final

import pytest

from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.pages.test_who_may_see import with_a_unit
from tests.services.people import CHARGE, NURSE, OUTSIDER
from tests.services.trail import links

FORGED: Final = "Quillon\r\nERROR forged line"
NUMBER: Final = "T7788990"
OF_PATIENTS: Final = ("Quillon", NUMBER, "Alder", "T000001", "1961")
PATIENT: Final = {
    "record_number": NUMBER,
    "family_name": "Quillon",
    "given_name": "Quirin",
    "birth_date": "1961-05-04",
}


class Recorded:
    """A browser that keeps each address it was sent to, or that a page would lead it to."""

    def __init__(self, browser: Visit) -> None:
        self.browser = browser
        self.addresses: list[str] = []

    def see(self, path: str) -> None:
        """Open a page, and note where it leads."""
        page = self.browser.see(path)
        self.addresses += [path, *page.links, *(form.action for form in page.forms)]

    def send(self, path: str, key: str, **typed: str) -> int:
        """Send a form of a page, and note where that leads."""
        answer = self.browser.send(path, key, **typed)
        self.addresses.append(answer.headers.get("location", ""))
        return answer.status_code


def test_neither_log_nor_address_holds_a_patient(
    hospital: Hospital, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    with_a_unit(hospital)
    charge, nurse = Recorded(hospital.visit(CHARGE)), Recorded(hospital.visit(NURSE))

    done = [
        charge.send("/patients/new", "/patients", **PATIENT),
        charge.send("/patients/new", "/patients", **{**PATIENT, "weight_kg": "900"}),
        charge.send("/patients", "/patients/search", q="Quillon"),
        charge.send("/wards/w1/orders/new", "/wards/w1/orders", patient_id="p1", bed="4",
                    component="plasma", units="1"),
        nurse.send("/episodes/e1", "record-note", text="Alder asked for water"),
        nurse.send("/episodes/e1", "running-observed", temperature_c="50"),
        nurse.send("/episodes/e1", "at-once-reaction_suspected"),
    ]  # fmt: skip
    for path in ("/wards/w1/board", "/wards/w1/orders", "/patients", "/wards/w1/review"):
        charge.see(path)
    for path in ("/mine", "/episodes/e1", "/episodes/e1/record", "/episodes/e1/reaction"):
        nurse.see(path)
    nurse.browser.get("/episodes/%0AERROR%20forged")

    addresses = {*charge.addresses, *nurse.addresses}
    assert done == [303, 422, 200, 303, 303, 422, 303]
    assert [one for one in addresses if any(own in one for own in OF_PATIENTS)] == []
    assert len(addresses) > 50
    assert [own for own in OF_PATIENTS if own in caplog.text] == []


def test_who_is_refused_stands_in_the_log_and_nothing_of_the_patient(
    hospital: Hospital, caplog: pytest.LogCaptureFixture
) -> None:
    with_a_unit(hospital)
    outsider = hospital.visit(OUTSIDER)

    for path in ("/episodes/e1", "/wards/w1/board"):
        assert outsider.get(path).status_code == 403
    note = outsider.post("/episodes/e1/events", {"csrf_token": "", "text": "Alder\nERROR forged"})

    assert note.status_code == 403
    assert [one for one in caplog.messages if one.startswith("refused")] == [
        "refused to nurse-9: GET see_episode",
        "refused to nurse-9: GET BoardPage",
        "refused to nurse-9: POST record",
    ]


def test_a_search_finds_by_name_and_by_number_and_says_when_nobody_is_there(
    hospital: Hospital,
) -> None:
    with_a_unit(hospital)
    charge = hospital.visit(CHARGE)

    pages = [
        Page(charge.send("/patients", "/patients/search", q=typed).text)
        for typed in ("alder", "T000001", "nobody")
    ]

    assert ["Alder, Ida" in page.text for page in pages] == [True, True, False]
    assert "No patient matches." in pages[-1].text


def test_what_is_typed_forges_no_line_of_the_log(
    hospital: Hospital, caplog: pytest.LogCaptureFixture
) -> None:
    """Line breaks in a name, an address, a browser's name and a failed sign-in."""
    caplog.set_level(logging.DEBUG)
    charge, nobody = hospital.visit(CHARGE), hospital.visit()
    nobody.headers = nobody.headers | {"User-Agent": "Mozilla\tERROR forged"}

    charge.send("/patients/new", "/patients", **{**PATIENT, "family_name": FORGED})
    nobody.send("/sign-in", "/sign-in", sign_in_name=FORGED, password="none of them")
    nobody.get("/%0d%0aERROR%20forged")

    assert [line for line in caplog.text.splitlines() if line.startswith("ERROR forged")] == []
    assert "forged" not in repr(links(hospital.store))
