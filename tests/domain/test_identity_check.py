"""What a check comes to: the form, two people's readings, and what neither may learn too early."""

from dataclasses import replace
from datetime import timedelta
from typing import Final
from zoneinfo import ZoneInfo

import pytest

from server.domain.fold import fold
from server.domain.identity_check import (
    CheckState,
    Form,
    agrees,
    by_person,
    checked,
    compare,
    form_of,
    is_abandoned,
    left,
    verdict,
)
from server.domain.identity_reading import How, Item, Reading, confirmed, denied, scanned, typed
from server.domain.labels.gs1 import check_digit
from server.domain.payloads import CheckedItem, IdentityChecked, Issued
from server.domain.words import BloodGroup
from tests.domain.builders import PATIENT, around, at, request, told

NUMBER: Final = "A999926123456"
ISSUED: Final = Issued(
    unit_number=f"={NUMBER}00",
    product_code="E0336V00",
    blood_group=BloodGroup.O_NEG,
    # 14:30 in Auckland
    expires_at=at(15 * 60 + 30),
)
AUCKLAND: Final = ZoneInfo("Pacific/Auckland")
SAID: Final = {
    Item.NAME: "alder ida",
    Item.DATE_OF_BIRTH: "1961-05-04",
    Item.RECORD_NUMBER: "T000001",
    Item.BLOOD_GROUP: "O-",
    Item.EXPIRY: "2026-03-04T14:30",
    Item.UNIT_NUMBER: NUMBER,
    Item.PRODUCT: "E0336 00",
}
ASKED: Final = (
    Item.NAME,
    Item.DATE_OF_BIRTH,
    Item.RECORD_NUMBER,
    Item.BLOOD_GROUP,
    Item.EXPIRY,
    Item.UNIT_NUMBER,
)
FORM: Final = Form(ASKED, SAID)
BARE: Final = Form(ASKED, {Item.NAME: "alder ida", Item.RECORD_NUMBER: "T000001"})
BAND: Final = scanned("T000001")
SPOKEN: Final = (confirmed(Item.NAME), confirmed(Item.DATE_OF_BIRTH))
BAG: Final = (*scanned(f"={NUMBER}00=%9500"), *scanned("=<E0336V00&>0260631430"))
ALL: Final = (*BAND, *SPOKEN, *BAG)
OTHER_GROUP: Final = scanned("=%5100")


def of(item: Item, readings: tuple[Reading, ...] = ALL) -> Reading:
    return next(one for one in readings if one.item is item)


def without(item: Item) -> tuple[Reading, ...]:
    return tuple(one for one in ALL if one.item is not item)


def matched(*items: Item) -> tuple[CheckedItem, ...]:
    return tuple(CheckedItem(item, matched=True) for item in items)


@pytest.mark.parametrize("requirements", [(), ("irradiated",)])
def test_the_form_says_what_request_record_and_issue_say(requirements: tuple[str, ...]) -> None:
    asked = request(requirements=requirements)

    form = form_of(asked, PATIENT, fold(asked, told((0, ISSUED))), AUCKLAND, "5050898")

    special = (Item.SPECIAL_REQUIREMENTS,) if requirements else ()
    assert form == Form((*ASKED, *special), SAID, "5050898")


def test_what_was_never_recorded_is_not_on_the_form() -> None:
    nobody = replace(PATIENT, birth_date=None)

    form = form_of(request(), nobody, fold(request(), told((0, Issued()))), AUCKLAND)

    assert form == Form(ASKED, {Item.NAME: "alder ida", Item.RECORD_NUMBER: "T000001"})


@pytest.mark.parametrize(
    ("issued", "product"),
    [
        (Issued(product_code="E0336"), "E0336"),
        (Issued(product_code="E0336", division="A0"), "E0336 A0"),
        (Issued(product_code="local-7"), "local-7"),
    ],
)
def test_the_division_belongs_to_the_product(issued: Issued, product: str) -> None:
    form = form_of(request(), PATIENT, fold(request(), told((0, issued))), AUCKLAND)

    assert form.said[Item.PRODUCT] == product


@pytest.mark.parametrize("reading", ALL, ids=lambda one: one.item)
def test_a_reading_of_the_right_thing_agrees(reading: Reading) -> None:
    assert agrees(FORM, reading)


@pytest.mark.parametrize(
    "reading",
    [
        *scanned("T000002"),
        *scanned("=%5100"),
        *scanned("=%Mq00"),
        *scanned("=A99992612345700"),
        *scanned("=<E0336VA0"),
        *scanned("=<E0337V00"),
        *scanned("&>0260631431"),
        *scanned("=>026063"),
        *scanned("=#0119610405"),
        typed(Item.NAME, "Ada Alder"),
        typed(Item.DATE_OF_BIRTH, "1961-04-05"),
        denied(Item.NAME),
    ],
    ids=lambda one: f"{one.item}-{one.entered}",
)
def test_a_reading_of_another_thing_does_not(reading: Reading) -> None:
    assert not agrees(FORM, reading)


def test_a_code_alone_agrees_with_every_division() -> None:
    form = replace(FORM, said=SAID | {Item.PRODUCT: "E0336"})

    answers = [agrees(form, *scanned(code)) for code in ("=<E0336V00", "=<E0336VA0", "=<E0337V00")]

    assert answers == [True, True, False]


def band(digits: str) -> Reading:
    """A GS1 recipient number. GS1 General Specifications, AI 8018: 17 digits and a check digit."""
    return Reading(Item.RECORD_NUMBER, How.SCANNED, digits + check_digit(digits), "")


@pytest.mark.parametrize(
    ("record_number", "prefix", "digits", "expected"),
    [
        # the whole number is the record number
        (
            "505089800000012345"[:17] + check_digit("50508980000001234"),
            "",
            "50508980000001234",
            True,
        ),
        # the record number stands behind the site's prefix, filled up with zeros
        ("12345", "5050898", "50508980000012345", True),
        ("12346", "5050898", "50508980000012345", False),
        # the same number under another organisation's prefix is another patient
        ("12345", "5050898", "50508990000012345", False),
        # nothing is guessed without a prefix
        ("12345", "", "50508980000012345", False),
        # letters cannot stand in a recipient number
        ("T12345", "5050898", "50508980000012345", False),
        # too long for what the prefix leaves
        ("12345678901", "5050898", "50508981234567890", False),
    ],
)
def test_a_recipient_number_stands_for_the_record_number_behind_the_prefix(
    record_number: str, prefix: str, digits: str, *, expected: bool
) -> None:
    form = Form(ASKED, {Item.RECORD_NUMBER: record_number}, prefix)

    assert agrees(form, band(digits)) is expected


def test_what_is_left_stands_in_order() -> None:
    assert left(FORM, ()) == ASKED
    assert left(FORM, (*BAG, *BAND)) == (Item.NAME, Item.DATE_OF_BIRTH)
    assert left(FORM, ALL) == ()


@pytest.mark.parametrize(
    ("sides", "checkers", "state"),
    [
        ([ALL], 1, CheckState.MATCHED),
        ([ALL], 2, CheckState.OPEN),
        ([BAND], 1, CheckState.OPEN),
        ([ALL, BAND], 2, CheckState.OPEN),
        ([ALL, ALL], 2, CheckState.MATCHED),
        ([[*without(Item.BLOOD_GROUP), *OTHER_GROUP], ALL], 2, CheckState.MISMATCHED),
        # a mismatch with the form stops before all is read
        ([OTHER_GROUP], 2, CheckState.MISMATCHED),
        ([[denied(Item.EXPIRY)]], 2, CheckState.MISMATCHED),
        # who read one thing and then another has read something that does not agree
        ([[*ALL, *OTHER_GROUP], ALL], 2, CheckState.MISMATCHED),
    ],
)
def test_a_check_stands_as_its_readings_say(
    sides: list[tuple[Reading, ...]], checkers: int, state: CheckState
) -> None:
    assert verdict(FORM, sides, checkers) is state


def test_what_the_form_does_not_say_is_compared_between_the_two_once_all_is_read() -> None:
    second = (*without(Item.BLOOD_GROUP), *OTHER_GROUP)

    states = [
        verdict(BARE, [ALL, second[:-1]], 2),
        verdict(BARE, [ALL, second], 2),
        verdict(BARE, [ALL, ALL], 2),
    ]

    assert states == [CheckState.OPEN, CheckState.MISMATCHED, CheckState.MATCHED]
    assert [one.item for one in compare(BARE, [ALL, second]) if not one.matched] == ["blood_group"]


def test_a_wristband_and_a_typed_record_number_are_written_differently() -> None:
    form = Form(ASKED, {Item.RECORD_NUMBER: "12345"}, "5050898")
    first = (*without(Item.RECORD_NUMBER), band("50508980000012345"))
    second = (*without(Item.RECORD_NUMBER), typed(Item.RECORD_NUMBER, "12345"))

    assert verdict(form, [first, second], 2) is CheckState.MATCHED


def test_two_who_read_different_divisions_have_read_two_bags() -> None:
    form = replace(FORM, said=SAID | {Item.PRODUCT: "E0336"})
    second = (*without(Item.PRODUCT), *scanned("=<E0336VA0"))

    assert verdict(form, [ALL, second], 2) is CheckState.MISMATCHED


def test_a_check_comes_to_its_items_in_order() -> None:
    everything = matched(*ASKED, Item.PRODUCT)

    assert checked(FORM, {"a": ALL, "b": ALL}) == IdentityChecked("a", everything, "b")
    assert checked(FORM, {"a": ALL}) == IdentityChecked("a", everything)


def test_only_who_has_read_something_is_named() -> None:
    interrupted = checked(FORM, {"a": (), "b": BAND}, interrupted=True)

    assert interrupted == IdentityChecked("b", matched(Item.RECORD_NUMBER), interrupted=True)
    assert checked(FORM, {"a": (), "b": ()}, interrupted=True) is None


def test_a_mismatch_names_its_item() -> None:
    outcome = checked(FORM, {"a": (*BAND, *OTHER_GROUP)})

    assert outcome is not None
    assert outcome.mismatches == ("blood_group",)


def test_a_check_is_abandoned_after_the_policys_time() -> None:
    after = timedelta(minutes=15)

    assert [is_abandoned(at(0), after, now) for now in around(at(15))] == [False, False, True]


def test_readings_are_told_apart_by_person() -> None:
    told_of = [("b", of(Item.NAME)), ("a", of(Item.EXPIRY)), ("b", of(Item.EXPIRY))]

    assert by_person(("a", "b"), told_of) == {
        "a": [of(Item.EXPIRY)],
        "b": [of(Item.NAME), of(Item.EXPIRY)],
    }
