"""What the scripts of the pages are told of a label, and the label in the form of an issue."""

import re
from typing import Any

import pytest

from server.domain.payloads import Issued
from server.domain.words import BloodGroup
from tests.domain.builders import at
from tests.domain.sites import SIGNED
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import CHARGE, NURSE, OUTSIDER

UNIT = "=A99992600000100"
NUMBER = "A999926000001"
BAG = "=A99992600000100=%5100=<E0398VA0&>0260652359"


def read(hospital: Hospital, scan: str, **more: Any) -> tuple[int, dict[str, Any]]:
    """Read a scan as a nurse's page does."""
    nurse = hospital.visit(NURSE)
    token = nurse.see("/wards/w1/board").forms[0].values["csrf_token"]
    answer = nurse.post("/labels", {"csrf_token": token, "scan": scan} | more)
    said: dict[str, Any] = answer.json()
    return answer.status_code, said


def test_a_bag_fills_the_fields_that_ask_for_it(hospital: Hospital) -> None:
    assert read(hospital, BAG) == (
        200,
        {
            "read": [
                {"name": "unit_number", "words": "unit number A9999 26 000001 8"},
                {"name": "product", "words": "product E0398VA0"},
                {"name": "blood_group", "words": "group O positive"},
                {"name": "expires_at", "words": "expires 6 Mar 2026 23:59"},
            ],
            "fields": {
                "unit_number": "A9999 26 000001 8",
                "product": "E0398VA0",
                "division": "A0",
                "blood_group": "O+",
                "expires_at": "2026-03-06T23:59",
            },
            "badge": False,
            "stops": [],
            "stop": "",
        },
    )


BLANK = ": none of the eight groups, left blank; group for the laboratory to judge"
ASKED = {"attributes": "ask_laboratory"}


@pytest.mark.parametrize(
    ("scan", "words", "fields"),
    [
        ("T000001", "record number T000001", {"record_number": "T000001"}),
        ("=#0119700102", "born 2 Jan 1970", {"birth_date": "1970-01-02"}),
        (
            "8018735005385000000011",
            "wristband 735005385000000011",
            {"recipient_number": "735005385000000011"},
        ),
        ("='A9999ABC123", "a badge", {"staff_number": "ABC123"}),
        ("=,000025", "division 000025", {"division": "000025"}),
        ("=%5500", f"group O without RhD{BLANK}", ASKED),
        ("=%G600", f"group Bombay negative{BLANK}", ASKED),
        ("=%F000", f"group pooled negative{BLANK}", ASKED),
        (
            "=%4800",
            "group O positive, emergency use only",
            {"blood_group": "O+", "attributes": "emergency_use"},
        ),
        ("=%0000", "no group", {}),
        ("&(N0008", "a label that is not needed here", {}),
    ],
)
def test_one_label(hospital: Hospital, scan: str, words: str, fields: dict[str, str]) -> None:
    status, said = read(hospital, scan)

    assert (status, "; ".join(one["words"] for one in said["read"])) == (200, words)
    assert said["fields"] == fields


def test_a_bag_that_must_not_be_given_fills_nothing_in(hospital: Hospital) -> None:
    status, said = read(hospital, f"{UNIT}=%Mq00")

    assert (status, said["fields"], said["stops"]) == (200, {}, ["it is in quarantine or on hold"])
    assert said["stop"] == (
        "It is in quarantine or on hold. Keep the bag apart and call the transfusion laboratory."
    )


def test_a_malformed_scan_is_refused_in_a_sentence(hospital: Hospital) -> None:
    assert read(hospital, "=%510") == (
        422,
        {"why": "The group is cut short; expected 4 characters."},
    )


def test_without_the_token_of_the_form_nothing_is_read(hospital: Hospital) -> None:
    status, said = read(hospital, BAG, csrf_token="0" * 64)

    assert (status, list(said)) == (403, ["why"])


def test_nobody_reads_without_signing_in(hospital: Hospital) -> None:
    answer = hospital.visit().post("/labels", {"scan": BAG})

    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")


def test_somebody_of_another_ward_reads_a_label_too(hospital: Hospital) -> None:
    """It says what the scanner read, and nothing of any patient here."""
    other = hospital.visit(OUTSIDER)
    token = other.see("/wards/w2/board").forms[0].values["csrf_token"]

    answer = other.post("/labels", {"csrf_token": token, "scan": "T000001"})

    assert (answer.status_code, "Alder" in answer.text) == (200, False)


ISSUE = "issue-issued"


def issued(hospital: Hospital, **typed: str) -> Issued:
    """The payload that the form of an issue leaves, at the base instant."""
    hospital.charting.open()
    hospital.visit(CHARGE).done("/episodes/e1", ISSUE, **typed)
    payload = hospital.charting.episode(1).events[-1].payload
    assert isinstance(payload, Issued)
    return payload


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"unit_number": "A9999 26 000001 8"}, Issued(unit_number=NUMBER)),
        ({"unit_number": "a9999260000018"}, Issued(unit_number=NUMBER)),
        ({"unit_number": UNIT}, Issued(unit_number=NUMBER)),
        ({"unit_number": f"]C0{UNIT}"}, Issued(unit_number=NUMBER)),
        (
            {"unit_number": BAG},
            Issued(
                unit_number=NUMBER,
                product_code="E0398",
                division="A0",
                blood_group=BloodGroup.O_POS,
                expires_at=at(3 * 24 * 60 + 13 * 60 + 59),
            ),
        ),
        (
            {"unit_number": BAG, "product_code": "E0336", "blood_group": "A+"},
            Issued(
                unit_number=NUMBER,
                product_code="E0336",
                blood_group=BloodGroup.A_POS,
                expires_at=at(3 * 24 * 60 + 13 * 60 + 59),
            ),
        ),
        (
            {"product_code": "=<E0336V00", "division": "B0"},
            Issued(product_code="E0336", division="B0"),
        ),
        ({"product_code": "local"}, Issued(product_code="local")),
        ({"division": "00"}, Issued(division="00")),
    ],
)
def test_the_label_in_the_form(hospital: Hospital, typed: dict[str, str], expected: Issued) -> None:
    assert issued(hospital, **typed) == expected


def test_codes_of_special_testing_are_translated_by_the_sites_table(
    hospital: Hospital, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hospital.store, "site", SIGNED)

    assert issued(hospital, unit_number=f"{UNIT}&(N9990").attributes == ("cmv_negative",)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        (NUMBER, "lacks its check character; expected the 13 characters and the one in the box"),
        ("A9999 26 000001 7", "does not fit its check character; expected the number as it is"),
        ("G0999", "is no unit number; expected its 13 characters and the check character"),
        ("=%5100", "is another label; expected that of the unit number"),
        ("=A9999260000010", "the unit number is cut short; expected 15 characters"),
        ("=A99992600000107", "the bag must not be given: it is not the label of a bag: test tube"),
        (f"{UNIT}=%Mq00", "the bag must not be given: it is in quarantine or on hold"),
        (f"{UNIT}=<E0398100", "the bag must not be given: it is for its donor only"),
    ],
)
def test_a_number_that_cannot_be_trusted_is_refused_beside_its_field(
    hospital: Hospital, typed: str, why: str
) -> None:
    hospital.charting.open()

    answer = hospital.visit(CHARGE).send("/episodes/e1", ISSUE, unit_number=typed)

    page = Page(answer.text)
    assert (answer.status_code, page.form(ISSUE).values["unit_number"]) == (422, [typed])
    assert why in page.text
    assert hospital.charting.episode(1).events == ()


def test_a_bag_that_another_request_holds_is_refused_on_the_page(hospital: Hospital) -> None:
    hospital.charting.open("e1", "p1")
    hospital.charting.open("e2", "p2")
    charge = hospital.visit(CHARGE)
    charge.done("/episodes/e1", ISSUE, unit_number=UNIT)

    answer = charge.send("/episodes/e2", ISSUE, unit_number=UNIT)

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "this unit is already issued for another request: stop" in page.text
    assert "Alder" not in page.text


def test_fields_say_which_label_fills_them(hospital: Hospital) -> None:
    hospital.charting.open()
    html = hospital.visit(CHARGE).get("/episodes/e1").text

    form = html.partition(f'id="{ISSUE}"')[2].partition("</form>")[0]
    assert re.findall(r'data-scan="(\w+)"', form) == [
        "unit_number",
        "product",
        "division",
        "blood_group",
        "expires_at",
        "attributes",
    ]
