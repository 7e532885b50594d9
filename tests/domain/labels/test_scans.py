"""What a scanner sends: frames, symbols, several labels at once, and what is refused."""

import re
from datetime import date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.labels import (
    Collected,
    Compound,
    Expiry,
    Group,
    National,
    Other,
    PatientBirthDate,
    PatientId,
    Product,
    ProviderNumber,
    RecipientNumber,
    RecordNumber,
    ServiceInstance,
    StaffNumber,
    Structure,
    UnitNumber,
    read_scan,
)

UNIT = UnitNumber("A999926000001")
O_POS = Group("51", "O", "pos", "default")
RED_CELLS = Product("E0398", "V", "00")
LAST_DAY = Expiry(datetime.fromisoformat("2026-01-31T23:59"), with_time=True)
BAG = "=A99992600000100=%5100=<E0398V00&>0260312359"
GSRN = "735005385000000011"
RETIRED = Other("011", "red-cell antigens of a retired structure", "0" * 18, retired=True)
DIMENSIONS = Other("029", "dimensions", "02" + "0001000280" * 2 + "00000000")


@pytest.mark.parametrize(
    ("scan", "structures"),
    [
        ("=A99992600000100", [UNIT]),
        ("]C0=A99992600000100", [UNIT]),
        ("]d1=A99992600000100\r\n", [UNIT]),
        ("\x02=A99992600000100\x03\t", [UNIT]),
        ("]C4=A99992600000100=%5100", [UNIT, O_POS]),
        ("=<E0398V00&>0260312359", [RED_CELLS, LAST_DAY]),
        (BAG, [UNIT, O_POS, RED_CELLS, LAST_DAY]),
        (f"]d1=+04000{BAG}", [Compound(4, "000"), UNIT, O_POS, RED_CELLS, LAST_DAY]),
        ("=A99992600000100=A99992600000100", [UNIT]),
        (
            "=+02000=#0119700102&#0108H1234567",
            [
                Compound(2, "000"),
                PatientBirthDate("01", date(1970, 1, 2)),
                PatientId("01", "H1234567"),
            ],
        ),
        ("='A99990ABC12", [StaffNumber("A9999", "0ABC12")]),
        ("&aVERY-OWN", [National("&a", "VERY-OWN")]),
        ("&;1", [National("&;", "1")]),
        ("={" + "0" * 18, [RETIRED]),
        ("&$02" + "0001000280" * 2 + "00000000", [DIMENSIONS]),
        (f"8018{GSRN}", [RecipientNumber(GSRN)]),
        (f"]C18017{GSRN}", [ProviderNumber(GSRN)]),
        (f"]d28018{GSRN}\x1d801900001", [RecipientNumber(GSRN), ServiceInstance("00001")]),
        (f"8018{GSRN}801900001", [RecipientNumber(GSRN), ServiceInstance("00001")]),
        (f"]Q3801900001\x1d8018{GSRN}", [ServiceInstance("00001"), RecipientNumber(GSRN)]),
        ("T000001", [RecordNumber("T000001")]),
        ("]C0MRN-12/7", [RecordNumber("MRN-12/7")]),
        ("A9999 26 000001 8", [UNIT]),
        ("a9999260000018", [UNIT]),
        ("1234567890123", [RecordNumber("1234567890123")]),
    ],
)
def test_what_is_read(scan: str, structures: list[Structure]) -> None:
    assert list(read_scan(scan).structures) == structures


@pytest.mark.parametrize(
    ("scan", "message"),
    [
        ("", "is empty; expected what a scanner reads from a label"),
        (" \r\n", "is empty"),
        ("\x02\x03", "is empty"),
        ("]C0", "holds nothing behind its symbol; expected a label"),
        ("]C1", "holds nothing behind its symbol"),
        ("T1\x00", "holds a control character"),
        ("T1\n=%5100", "holds a control character"),
        ("9" * (limits.SCAN + 1), f"is {limits.SCAN + 1} characters long; expected at most"),
        ("hello", "is no label that is read here; expected ISBT 128, GS1 or a record number"),
        ("=", "begins with a data identifier that is not known"),
        ("&", "begins with a data identifier that is not known"),
        ("=0260312359", "begins with a data identifier that is not known"),
        ("=O99992600000100", "begins with a data identifier that is not known"),
        ("&,3123", "begins with a data identifier that is not known"),
        ("=Q00", "the unit number is cut short; expected 15 characters"),
        ("=A9999260000010", "the unit number is cut short; expected 15 characters"),
        ("=A9999260000O100", "is no unit number; expected a facility of five characters"),
        ("=AO99926000001 0", "the unit number holds a character that cannot stand there"),
        ("=A999926000001AB", "is no unit number"),
        ("=%510", "the group is cut short; expected 4 characters"),
        ("=%5101", "ends in another character than 0; expected the group as it is printed"),
        ("=%Zz00", "holds a group code that is not known; expected one of ISBT 128"),
        ("=%51w0", "holds an Rh and Kell code that is not known; expected one of ISBT 128"),
        ("=%51-0", "the group holds a character that cannot stand there"),
        ("&>0263662359", "names day 366 of 2026; expected a day that this year has"),
        ("&>0260002359", "names day 0 of 2026; expected a day that this year has"),
        ("&>0260312400", "says 24:00; expected a time from 00:00 to 23:59"),
        ("&>0260311260", "says 12:60; expected a time from 00:00 to 23:59"),
        ("=#0119701302", "holds no day of the calendar; expected year, month and day"),
        ("&#0110ABC123456", "the patient's number is cut short; expected 14 characters"),
        ("&#01", "lacks the number of what follows; expected digits"),
        ("&#01XXAB", "lacks the number of what follows; expected digits"),
        ("&#0100", "the patient's number holds a character that cannot stand there"),
        ("=<e0398V00", "the product code holds a character that cannot stand there"),
        ("=/A9997AB3456T012=%", "the product code of the processor holds a character"),
        ("=+03000=A99992600000100=%5100", "holds 2 structures; expected 3 as its head says"),
        ("=+01000=A99992600000100=%5100", "holds 2 structures; expected 1 as its head says"),
        ("=%5100=+01000=A99992600000100", "holds a compound message inside another read"),
        ("=+02000=+01000=A99992600000100", "holds a compound message inside another read"),
        ("=+02000=A99992600000100&a123", "begins with a data identifier that is not known"),
        ("&a123=%5100", "begins with a data identifier that is not known"),
        ("=A99992600000100=A99992600000200", "holds two different labels of one kind"),
        ("=%5100=%0600", "holds two different labels of one kind"),
        ("A999926000001", "looks like a unit number that lacks its check character"),
        ("A9999 26 000001 7", "looks like a unit number that does not fit its check character"),
        ("A99992600000100", "looks like a unit number without its data identifier"),
        (f"8018{GSRN[:-1]}2", "has a wrong check digit after 8018; scan it again"),
        (f"8018{GSRN[:-1]}", "is cut short after 8018; expected 18 digits"),
        (f"8017{GSRN[:-1]}8", "has a wrong check digit after 8017; scan it again"),
        (f"8018{GSRN}8018735005385000000028", "holds two different labels of one kind"),
        ("]d201095011015300031", "holds a GS1 element that is not read here"),
        ("]d28019", "holds a service instance of another length; expected 1 to 10 digits"),
        ("]d2801912345678901", "holds a service instance of another length"),
    ],
)  # fmt: skip
def test_what_is_refused(scan: str, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_scan(scan)

    assert (refused.value.field, refused.value.message[: len(message)]) == ("scan", message)


@pytest.mark.parametrize("scan", ["=a99992600000100", "]c0=a99992600000100=%5100", "=<e0398v00"])
def test_swapped_letters_are_told(scan: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_scan(scan)

    said = "; capital and small letters look swapped: is Caps Lock on?"
    assert refused.value.message.endswith(said)


@pytest.mark.parametrize("scan", ["=%510", "A999926000001", "=Q00"])
def test_what_is_wrong_otherwise_is_not_put_on_caps_lock(scan: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_scan(scan)

    assert "Caps Lock" not in refused.value.message


def test_antigens_that_contradict_each_other_are_refused() -> None:
    """The first digit says C positive, the fourteenth C negative."""
    with pytest.raises(Invalid, match="says both positive and negative of C"):
        read_scan("=\\0" + "9" * 12 + "1" + "9900")


@pytest.mark.parametrize(
    ("scan", "numbers"),
    [("T000001", True), ("AB-1", False), ("1234567890123", False), ("A999926000001", False)],
)
def test_a_site_says_what_its_record_numbers_look_like(scan: str, *, numbers: bool) -> None:
    pattern = re.compile("[A-Z]{0,3}[0-9]{5,10}", re.ASCII)

    if numbers:
        assert read_scan(scan, pattern).structures == (RecordNumber(scan),)
    else:
        with pytest.raises(Invalid):
            read_scan(scan, pattern)


def test_what_a_site_calls_a_record_number_is_one() -> None:
    pattern = re.compile("[A-Z0-9]{13}")

    assert read_scan("A999926000001", pattern).structures == (RecordNumber("A999926000001"),)


def test_a_scan_is_asked_for_one_kind() -> None:
    read = read_scan(BAG)

    assert (read.find(Group), read.find(PatientId)) == (O_POS, None)


@pytest.mark.parametrize(
    ("scan", "expected"),
    [
        ("=*026015", Collected(datetime.fromisoformat("2026-01-15"), with_time=False)),
        ("&*0260150830", Collected(datetime.fromisoformat("2026-01-15T08:30"), with_time=True)),
        ("=>024366", Expiry(datetime.fromisoformat("2024-12-31T23:59"), with_time=False)),
        ("=>999365", Expiry(datetime.fromisoformat("1999-12-31T23:59"), with_time=False)),
    ],
)
def test_dates_are_of_the_labels_own_clock(scan: str, expected: Structure) -> None:
    (read,) = read_scan(scan).structures

    assert read == expected
    assert read.data_structure == {"=*": "006", "&*": "007", "=>": "004"}[scan[:2]]


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        read = read_scan(text).structures
    except Invalid as refused:
        read = (RecordNumber(refused.field),)

    assert read not in ((), (RecordNumber("unit_number"),))


@settings(max_examples=50, deadline=None)
@given(st.integers(0, len(BAG) - 1), st.sampled_from("0123456789ABCabc=&%<> "))
def test_one_wrong_character_never_yields_another_bag_and_group_at_once(
    place: int, other: str
) -> None:
    """A bar code has a check of its own; this is about what it leaves: no field moves."""
    try:
        read = read_scan(BAG[:place] + other + BAG[place + 1 :])
    except Invalid:
        return
    unit, group = read.find(UnitNumber), read.find(Group)
    assert unit == UNIT or group == O_POS
