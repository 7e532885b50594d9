"""What a checker read: scanned, typed or said, made comparable; slips refused with the reason."""

import re
from dataclasses import astuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.errors import Invalid
from server.domain.identity_reading import (
    CONFIRMABLE,
    How,
    Item,
    Reading,
    confirmed,
    denied,
    plain_name,
    scanned,
    typed,
)
from server.domain.labels.gs1 import check_digit

NUMBER = "A999926123456"


@pytest.mark.parametrize(
    ("scan", "expected"),
    [
        ("T000001", [(Item.RECORD_NUMBER, How.SCANNED, "T000001")]),
        ("t000001\r", [(Item.RECORD_NUMBER, How.SCANNED, "T000001")]),
        (f"={NUMBER}00", [(Item.UNIT_NUMBER, How.SCANNED, NUMBER)]),
        ("=%9500", [(Item.BLOOD_GROUP, How.SCANNED, "O-")]),
        ("&>0260641430", [(Item.EXPIRY, How.SCANNED, "2026-03-05T14:30")]),
        ("=>026064", [(Item.EXPIRY, How.SCANNED, "2026-03-05T23:59")]),
        ("=<E0336VA0", [(Item.PRODUCT, How.SCANNED, "E0336 A0")]),
        ("=<E0336V99", [(Item.PRODUCT, How.SCANNED, "E0336 99")]),
        ("=<E0336V99=,000025", [(Item.PRODUCT, How.SCANNED, "E0336 000025")]),
        ("=,000025=<E0336VA0", [(Item.PRODUCT, How.SCANNED, "E0336 A0")]),
        (
            f"={NUMBER}00=%5100",
            [(Item.UNIT_NUMBER, How.SCANNED, NUMBER), (Item.BLOOD_GROUP, How.SCANNED, "O+")],
        ),
        (
            f"=+04000={NUMBER}00=%5100=<E0336V00&>0260642359",
            [
                (Item.UNIT_NUMBER, How.SCANNED, NUMBER),
                (Item.BLOOD_GROUP, How.SCANNED, "O+"),
                (Item.PRODUCT, How.SCANNED, "E0336 00"),
                (Item.EXPIRY, How.SCANNED, "2026-03-05T23:59"),
            ],
        ),
        ("=#0119610504", [(Item.DATE_OF_BIRTH, How.SCANNED, "1961-05-04")]),
        ("&#0107T000001", [(Item.RECORD_NUMBER, How.SCANNED, "T000001")]),
    ],
)
def test_a_scan_fills_every_item_it_speaks_of(
    scan: str, expected: list[tuple[Item, How, str]]
) -> None:
    assert scanned(scan) == tuple(Reading(*one, scan) for one in expected)


def test_a_gs1_wristband_carries_a_recipient_number() -> None:
    digits = "50508980000000123"
    scan = f"8018{digits}{check_digit(digits)}"

    assert [astuple(one)[:3] for one in scanned(scan)] == [
        (Item.RECORD_NUMBER, How.SCANNED, scan[4:])
    ]


@pytest.mark.parametrize(
    ("scan", "item", "why"),
    [
        ("=%Mq00", Item.BLOOD_GROUP, "it is in quarantine or on hold"),
        # a group without RhD is none of the eight that a form can say
        ("=%5500", Item.BLOOD_GROUP, "55"),
        # flags 07: a tube of the same donation
        (f"={NUMBER}07", Item.UNIT_NUMBER, "it is not the label of a bag: test tube"),
        ("=<E0336X00", Item.PRODUCT, "it is for its donor only and marked as a biohazard"),
    ],
)
def test_what_can_never_be_the_bag_does_not_agree(scan: str, item: Item, why: str) -> None:
    assert scanned(scan) == (Reading(item, How.DENIED, why, scan),)


@pytest.mark.parametrize(
    ("scan", "why"),
    [
        ("&(12345", "holds nothing this check asks for; expected a wristband or a bag"),
        ("", "is empty; expected what a scanner reads from a label"),
        ("=%51", "is cut short"),
    ],
)
def test_a_scan_that_says_nothing_is_refused(scan: str, why: str) -> None:
    with pytest.raises(Invalid) as refusal:
        scanned(scan)

    assert (refusal.value.field, why in refusal.value.message) == ("scan", True)


def test_a_sites_record_numbers_look_as_the_site_says() -> None:
    pattern = re.compile("[A-Z]{0,3}[0-9]{5,10}")

    assert scanned("T000001", pattern) == scanned("T000001")
    with pytest.raises(Invalid) as refusal:
        scanned("aspirin 100 mg", pattern)
    assert refusal.value.field == "scan"


@pytest.mark.parametrize(
    ("item", "text", "value"),
    [
        (Item.NAME, " alder  IDA ", "alder ida"),
        (Item.DATE_OF_BIRTH, "1961-05-04", "1961-05-04"),
        (Item.RECORD_NUMBER, " t 000001 ", "T000001"),
        (Item.BLOOD_GROUP, "AB-", "AB-"),
        (Item.EXPIRY, "2026-03-05T14:30", "2026-03-05T14:30"),
        (Item.EXPIRY, "2026-03-05", "2026-03-05T23:59"),
        (Item.UNIT_NUMBER, "a9999 26 123456 t", NUMBER),
        (Item.PRODUCT, "e0336 00", "E033600"),
        (Item.SPECIAL_REQUIREMENTS, "Irradiated", "irradiated"),
    ],
)
def test_a_typed_item_becomes_comparable(item: Item, text: str, value: str) -> None:
    assert typed(item, text) == Reading(item, How.TYPED, value, text.strip())


@pytest.mark.parametrize(
    ("item", "text", "why"),
    [
        (Item.DATE_OF_BIRTH, "4 May", "is no date; expected for example 1961-05-04"),
        (Item.EXPIRY, "soon", "is no date; expected the date and time of the label"),
        (Item.BLOOD_GROUP, "C+", "is no group; expected for example O+"),
        (Item.UNIT_NUMBER, NUMBER, "lacks its check character"),
        (Item.UNIT_NUMBER, f"{NUMBER}K", "does not fit its check character"),
        (Item.RECORD_NUMBER, " ", "is empty; expected a text"),
        (Item.RECORD_NUMBER, "7" * 201, "is 201 characters long"),
    ],
)
def test_a_slip_is_refused_beside_its_field(item: Item, text: str, why: str) -> None:
    with pytest.raises(Invalid) as refusal:
        typed(item, text)

    assert (refusal.value.field, refusal.value.message.startswith(why)) == (item, True)


def test_a_form_with_another_kind_of_number_asks_for_no_check_character() -> None:
    assert typed(Item.UNIT_NUMBER, "bag 77", "BAG77").value == "BAG77"


def test_what_is_said_can_be_confirmed_and_codes_cannot() -> None:
    for item in Item:
        if item in CONFIRMABLE:
            assert confirmed(item) == Reading(item, How.CONFIRMED, "", "")
        else:
            with pytest.raises(Invalid) as refusal:
                confirmed(item)
            assert refusal.value.field == item
    assert denied(Item.EXPIRY) == Reading(Item.EXPIRY, How.DENIED, "", "")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Alder, Ida", "IDA ALDER"),
        ("Müller", "muller"),
        ("Nuñez-Ibáñez", "Nunez Ibanez"),
        ("O'Brien", "O’Brien"),
        ("OBrien", "o'brien"),
        ("Łukasz Øst", "lukasz ost"),
        ("Strauß", "STRAUSS"),
        ("Æsa Þór", "aesa thor"),
        ("ﬁona", "Fiona"),
    ],
)
def test_names_agree_without_case_accents_order_and_spaces(one: str, other: str) -> None:
    assert plain_name(one) == plain_name(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("Ida Alder", "Ada Alder"), ("Ida", "Ida Alder"), ("कि", "का"), ("李", "王")],
)
def test_other_names_do_not_agree(one: str, other: str) -> None:
    assert plain_name(one) != plain_name(other)


@settings(max_examples=50)
@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=30))
def test_a_name_made_plain_stays_as_it_is(name: str) -> None:
    assert plain_name(plain_name(name)) == plain_name(name)
