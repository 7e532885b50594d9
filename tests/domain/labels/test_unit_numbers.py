"""Unit numbers that are typed, sent by programs, scanned and compared."""

import pytest

from server.domain.errors import Invalid
from server.domain.labels import (
    UnitNumber,
    plain_unit_number,
    read_scan,
    read_unit_number,
    split_product,
)


@pytest.mark.parametrize(
    "typed", ["A9999260000018", "A9999 26 000001 8", " a9999 26 000001\t8 ", "a9999260000018"]
)
def test_a_typed_number_with_its_check_character(typed: str) -> None:
    assert read_unit_number(typed) == UnitNumber("A999926000001")


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("", "is no unit number; expected its 13 characters and the check character in the box"),
        ("G0999", "is no unit number"),
        ("O9999260000018", "is no unit number"),
        ("=A99992600000100", "is no unit number"),
        ("A999926000001", "lacks its check character; expected the 13 characters and the one"),
        ("A9999260000017", "does not fit its check character; expected the number as it is"),
        ("A999926000001 ?", "does not fit its check character"),
        ("A99992600000188", "does not fit its check character"),
        ("A9999620000018", "does not fit its check character"),
    ],
)
def test_a_typed_number_is_refused(typed: str, message: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_unit_number(typed)

    assert refused.value.field == "unit_number"
    assert refused.value.message.startswith(message)


def test_a_number_and_its_parts() -> None:
    unit = UnitNumber("A999926000001")

    assert (unit.facility, unit.year, unit.serial) == ("A9999", "26", "000001")
    assert (unit.check_character, unit.shown) == ("8", "A9999 26 000001 8")
    assert (unit.is_of_bag, unit.stops, unit.flag_says) == (True, None, "not used")
    assert read_unit_number(unit.shown) == unit


@pytest.mark.parametrize(
    ("flags", "says"),
    [
        ("01", "container 1 of a set"),
        ("04", "container 4 of a set"),
        ("05", "second label"),
        ("12", "affixed partial label"),
        ("14", "reserved"),
        ("15", "container 5 of a set"),
        ("19", "container 9 of a set"),
        ("20", "defined locally"),
        ("59", "defined locally"),
        ("68", "carries the check value"),
        ("97", "reserved"),
    ],
)
def test_what_flags_say(flags: str, says: str) -> None:
    unit = read_scan(f"=A999926000001{flags}").find(UnitNumber)

    assert unit is not None
    assert (unit.flag_says, unit.is_of_bag, unit.stops) == (says, True, None)


@pytest.mark.parametrize("flags", ["06", "07", "08", "09", "10"])
def test_the_label_of_a_tube_or_a_record_stands_for_no_bag(flags: str) -> None:
    unit = read_scan(f"=A999926000001{flags}").find(UnitNumber)

    assert unit is not None
    assert unit.is_of_bag is False
    assert unit.stops == f"it is not the label of a bag: {unit.flag_says}"


@pytest.mark.parametrize("flags", ["60", "67", "69", "96"])
def test_flags_that_carry_another_check_value_are_refused(flags: str) -> None:
    with pytest.raises(Invalid, match="carries a check value that does not fit"):
        read_scan(f"=A999926000001{flags}")


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("A999926000001", "A999926000001"),
        ("A99992600000100", "A999926000001"),
        ("A99992600000168", "A999926000001"),
        ("=A999926000001", "A999926000001"),
        ("=A99992600000100", "A999926000001"),
        ("A99992600000169", "A99992600000169"),
        ("G1", "G1"),
        ("W0000 26 123456", "W0000 26 123456"),
        ("a999926000001", "a999926000001"),
        ("A9999260000018", "A9999260000018"),
    ],
)
def test_a_number_as_programs_send_it(sent: str, kept: str) -> None:
    assert plain_unit_number(sent) == kept


def test_a_number_with_its_identifier_and_a_wrong_check_value_is_refused() -> None:
    with pytest.raises(Invalid, match="unit_number: carries a check value that does not fit"):
        plain_unit_number("=A99992600000169")


@pytest.mark.parametrize(
    ("sent", "split"),
    [
        ("E0336", ("E0336", None)),
        ("E0336V00", ("E0336", "00")),
        ("=<E0336VAa", ("E0336", "Aa")),
        ("red cells", ("red cells", None)),
        ("E0336V", ("E0336V", None)),
    ],
)
def test_a_product_code_and_its_division(sent: str, split: tuple[str, str | None]) -> None:
    assert split_product(sent) == split
