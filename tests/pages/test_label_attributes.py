"""What a label shows of a bag: read by the scanner, ticked in the issue, stored with it."""

import pytest

from server.domain.payloads import Issued
from tests.pages.hospital import Hospital
from tests.services.people import CHARGE

ISSUE = "issue-issued"


@pytest.mark.parametrize(
    ("scan", "words", "attributes"),
    [
        ("=%51S0", "group O positive; K negative", "k_negative"),
        ('&"000000000300000000', "HEV negative", "hev_negative"),
        ("=\\" + "9" * 15 + "1" + "96", "CMV negative, HbS negative", "cmv_negative hbs_negative"),
    ],
)
def test_a_scan_says_what_the_label_shows(
    hospital: Hospital, scan: str, words: str, attributes: str
) -> None:
    charge = hospital.visit(CHARGE)
    token = charge.see("/wards/w1/board").forms[0].values["csrf_token"]

    said = charge.post("/labels", {"csrf_token": token, "scan": scan}).json()

    assert "; ".join(one["words"] for one in said["read"]) == words
    assert said["fields"]["attributes"] == attributes


def test_what_was_ticked_and_what_was_scanned_is_stored_with_the_issue(
    hospital: Hospital,
) -> None:
    hospital.charting.open()
    charge = hospital.visit(CHARGE)

    charge.done(
        "/episodes/e1",
        ISSUE,
        unit_number="=A99992600000100=%51S0",
        attributes=["irradiated", "k_negative"],
    )

    issued = hospital.charting.episode(hospital.clock.now).events[-1].payload
    assert isinstance(issued, Issued)
    assert issued.attributes == ("irradiated", "k_negative")


def test_what_is_no_attribute_is_not_ticked(hospital: Hospital) -> None:
    hospital.charting.open()

    form = hospital.visit(CHARGE).see("/episodes/e1").form(ISSUE)

    assert form.values.get("attributes", []) == []
