"""Whether a unit suits its patient, on the unit's page and on the board."""

from dataclasses import replace

import pytest

from server.domain.payloads import Issued, Started
from server.domain.words import BloodGroup, Component
from server.services.open_order import OrderDraft, open_order
from tests.domain.builders import CHECKED, SOUND, at
from tests.pages.hospital import Hospital
from tests.services.people import CHARGE, NURSE, P1, PROGRAM, register

UNSIGNED = "No clinician has signed the compatibility table of this site."


@pytest.fixture
def unit(hospital: Hospital) -> str:
    """A unit ordered for a patient of group O RhD negative, with two requirements."""
    draft = OrderDraft(
        "o1",
        "p1",
        "w1",
        "4",
        Component.RED_CELLS,
        1,
        volume_ml=280,
        requirements=("cmv_negative", "irradiated"),
        sample_taken_at=at(-80 * 60),
    )
    with hospital.store.write() as session:
        register(session, replace(P1, blood_group=BloodGroup.O_NEG), minute=-90)
        return open_order(session, PROGRAM, draft, now=at(-60)).episode_ids[0]


def text_of(hospital: Hospital, unit: str) -> str:
    """The page of a unit in words."""
    return hospital.visit(NURSE).see(f"/episodes/{unit}").text


def test_a_unit_that_suits_says_what_was_seen_and_who_has_not_signed(
    hospital: Hospital, unit: str
) -> None:
    issued = Issued(
        blood_group=BloodGroup.O_NEG, expires_at=at(3_000), attributes=("cmv_negative",)
    )
    hospital.charting.record(0, issued, unit)

    text = text_of(hospital, unit)

    for said in (
        "first choice Patient O− , unit O−",
        "CMV negative : met: the label says so",
        "irradiated : cannot be verified from the label",
        "Unit expires Thu 5 Mar 12:00",
        "The sample was valid until 02:00",
        UNSIGNED,
        "The laboratory’s issue decision is the authority",
    ):
        assert said in text
    assert "Stops the start" not in text


def test_a_unit_that_does_not_suit_stops_the_start_until_a_reason_is_given(
    hospital: Hospital, unit: str
) -> None:
    issued = Issued(blood_group=BloodGroup.A_POS, expires_at=at(-1), attributes=("cmv_positive",))
    for payload in (issued, SOUND, CHECKED):
        hospital.charting.record(0, payload, unit)
    nurse = hospital.visit(NURSE)

    before = text_of(hospital, unit)
    refused = nurse.send(f"/episodes/{unit}", "start-started", rate_ml_h="60")
    nurse.done(
        f"/episodes/{unit}", "start-started", rate_ml_h="60", override_reason="massive bleeding"
    )
    after = text_of(hospital, unit)

    for said in (
        "never Patient O− , unit A+",
        "Stops the start: it needs a recorded reason.",
        "Stops the start: The unit expired at 09:59.",
        "CMV negative : not met: the label says otherwise. Stops the start.",
    ):
        assert said in before
    assert refused.status_code == 409
    assert "Red cells, unit A+, patient O−: never: stop" in refused.text
    assert "Spoke against the start: it needs a recorded reason." in after
    assert "massive bleeding" in after


def test_an_override_is_marked_on_the_board(hospital: Hospital, unit: str) -> None:
    hospital.charting.record(0, Issued(blood_group=BloodGroup.A_POS), unit)
    board = hospital.visit(CHARGE)
    assert "override" not in board.see("/wards/w1/board").text

    hospital.charting.record(1, Started(60, override_reason="massive bleeding"), unit)
    hospital.clock.now = at(1)

    assert "Alder , Ida Red cells !! override" in board.see("/wards/w1/board").text


def test_before_the_issue_nothing_is_said(hospital: Hospital, unit: str) -> None:
    assert "Does it suit the patient?" not in text_of(hospital, unit)


def test_an_unknown_group_is_said(hospital: Hospital) -> None:
    hospital.charting.open()
    hospital.charting.record(0, Issued())

    text = text_of(hospital, "e1")

    assert "not judged Patient unknown , unit not recorded" in text
    assert "The group of the unit was not recorded, so nothing was judged." in text
