"""What the parts of a label mean: groups that stop, collection, antigens, infection markers."""

import pytest

from server.domain.labels import (
    Antigens,
    Expiry,
    Group,
    InfectionMarkers,
    PlateletAntigens,
    Produced,
    Product,
    Structure,
    read_scan,
)
from server.domain.words import BloodGroup


def only(scan: str) -> Structure:
    """The one structure of a scan."""
    (read,) = read_scan(scan).structures
    return read


def group_of(code: str) -> Group:
    """A group by its code."""
    read = only(f"=%{code}00")
    assert isinstance(read, Group)
    return read


@pytest.mark.parametrize(
    ("code", "group"),
    [("95", "O-"), ("51", "O+"), ("06", "A-"), ("62", "A+"), ("17", "B-"), ("73", "B+"),
     ("28", "AB-"), ("84", "AB+"), ("48", "O+")],
)  # fmt: skip
def test_plain_groups_are_compared_decoded(code: str, group: str) -> None:
    assert group_of(code).group is BloodGroup(group)


@pytest.mark.parametrize("code", ["55", "G6", "D6", "I6", "A0", "H0", "I0", "00", "Mq"])
def test_other_codes_are_none_of_the_eight_groups(code: str) -> None:
    assert group_of(code).group is None


@pytest.mark.parametrize(
    ("code", "stops"),
    [
        ("51", None),
        ("47", None),
        ("48", None),
        ("50", None),
        ("00", None),
        ("49", "it is marked as a biohazard"),
        ("52", "it was collected for its donor"),
        ("53", "it is for its donor only"),
        ("54", "it is for its donor only and marked as a biohazard"),
        ("Ma", "it was collected for its donor"),
        ("Mb", "it is marked as a biohazard"),
        ("Md", "it is to be discarded"),
        ("Mf", "it is for fractionation only"),
        ("Mq", "it is in quarantine or on hold"),
        ("Mr", "it is for research only"),
        ("Mx", "it is not for transfusion, by its test results"),
        ("T3", "it is for tissue products only"),
    ],
)
def test_codes_that_stop_say_why(code: str, stops: str | None) -> None:
    assert group_of(code).stops == stops


def test_special_testing_may_have_to_be_read_too() -> None:
    asks, does_not = only("=%51W0"), only("=%51U0")

    assert isinstance(asks, Group)
    assert isinstance(does_not, Group)
    assert (asks.ask_special_testing, does_not.ask_special_testing) == (True, False)
    assert does_not.phenotype.mia_mur == "-"


@pytest.mark.parametrize(
    ("collection", "says", "stops"),
    [
        ("V", "volunteer, allogeneic", None),
        ("R", "volunteer, for research", "it is for research only"),
        ("1", "autologous only", "it is for its donor only"),
        ("X", "autologous only, biohazard", "it is for its donor only and marked as a biohazard"),
        ("z", None, None),
    ],
)
def test_how_a_product_was_collected(collection: str, says: str | None, stops: str | None) -> None:
    product = only(f"=<E0398{collection}A0")

    assert product == Product("E0398", collection, "A0")
    assert isinstance(product, Product)
    assert (product.collection_says, product.stops) == (says, stops)
    assert product.printed == f"E0398{collection}A0"


@pytest.mark.parametrize(
    ("scan", "cmv", "hbs", "iga"),
    [
        ("=\\" + "9" * 15 + "100", "neg", False, False),
        ("=\\" + "9" * 15 + "296", "pos", True, False),
        ("=\\" + "9" * 16 + "98", None, False, True),
    ],
)
def test_antigens_of_red_cells(scan: str, cmv: str | None, *, hbs: bool, iga: bool) -> None:
    read = only(scan)

    assert isinstance(read, Antigens)
    assert (read.result("CMV"), read.hbs_negative, read.iga_deficient) == (cmv, hbs, iga)


@pytest.mark.parametrize(("digit", "free"), [("1", True), ("0", False)])
def test_platelets_without_high_titre(digit: str, *, free: bool) -> None:
    read = only("&{" + "0" * 17 + digit)

    assert isinstance(read, PlateletAntigens)
    assert read.no_high_titre is free


@pytest.mark.parametrize(("digit", "hev"), [("3", "neg"), ("6", "pos"), ("0", None)])
def test_hepatitis_e(digit: str, hev: str | None) -> None:
    read = only('&"' + "0" * 9 + digit + "0" * 8)

    assert isinstance(read, InfectionMarkers)
    assert read.hev == hev


@pytest.mark.parametrize(
    ("scan", "kind", "number"),
    [("=}026001", Produced, "008"), ("&}0260010000", Produced, "009"),
     ("&>0260010000", Expiry, "005")],
)  # fmt: skip
def test_times_with_and_without_a_clock_are_two_structures(
    scan: str, kind: type[Structure], number: str
) -> None:
    read = only(scan)

    assert (type(read), read.data_structure) == (kind, number)
