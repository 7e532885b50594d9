"""Examples that ICCBBA ST-001 v6.2.2 (2023) and the FDA's table print, with where they stand."""

from datetime import datetime

import pytest

from server.domain.labels import (
    Antigens,
    Division,
    Expiry,
    Group,
    InfectionMarkers,
    Other,
    Phenotype,
    Produced,
    Product,
    Structure,
    UnitNumber,
    read_scan,
)
from server.domain.labels.check_character import check_character, check_flags


@pytest.mark.parametrize(
    ("number", "check", "flags"),
    [
        ("A999921123456", "3", "63"),  # Fig. 2
        ("A999818123456", "N", "83"),  # 7.5.1.1
        ("A999820123456", "E", "74"),  # appendix C, blood label
        ("A999917123654", "Y", "94"),  # Fig. 21
        ("A999917345658", "O", "84"),  # Fig. 22
        ("A999918000001", "8", "68"),  # Fig. 23
        ("G123417654321", "A", "70"),  # worked example
        ("G123498654321", "H", "77"),  # worked example
    ],
)
def test_check_characters(number: str, check: str, flags: str) -> None:
    assert (check_character(number), check_flags(number)) == (check, flags)


def other(number: str, name: str, content: str) -> Other:
    """A structure that is kept as it is."""
    return Other(number, name, content)


BOTH_KNOWN = {"K": "pos", "k": "pos", "Cw": "pos", "M": "pos", "N": "pos", "S": "pos", "s": "pos"}
PUBLISHED: dict[str, tuple[str, tuple[Structure, ...]]] = {
    "Fig. 2": ("=A99992112345601", (UnitNumber("A999921123456", "01"),)),
    "2.2": ("=%6200", (Group("62", "A", "pos", "default"),)),
    "Fig. 1": ("=<E1234V00", (Product("E1234", "V", "00"),)),
    "Fig. 3": ("=<S12954A0", (Product("S1295", "4", "A0"),)),
    "Fig. 21": (
        "&>0180292359",
        (Expiry(datetime.fromisoformat("2018-01-29T23:59"), with_time=True),),
    ),
    "Fig. 6": (
        "=;A99990000222244445555",
        (other("019", "donor number", "A99990000222244445555"),),
    ),
    "Fig. 9": (
        "=/A9997AB3456T0123",
        (other("034", "product code of the processor", "A9997AB3456T0123"),),
    ),
    "9.1, example 2": (
        "=\\679999999999999900",
        (
            Antigens(
                (
                    ("C", "pos"),
                    ("c", "neg"),
                    ("E", "neg"),
                    ("e", "pos"),
                    ("K", "pos"),
                    ("k", "neg"),
                ),
                "00",
            ),
        ),
    ),
    "9.1, example 4": (
        "=\\486881355800000000",
        (
            Antigens(
                (
                    *((name, "pos") for name in ("C", "c", "E", "e")),
                    *BOTH_KNOWN.items(),
                    ("P1", "neg"),
                    ("Lua", "neg"),
                    ("Lea", "neg"),
                    ("Leb", "pos"),
                    ("Fya", "neg"),
                    ("Fyb", "pos"),
                    ("Jka", "pos"),
                    ("Jkb", "pos"),
                ),
                "00",
            ),
        ),
    ),
    "9.3": ('&"321415000000000000', (InfectionMarkers("321415000000000000"),)),
    "FDA, table of issuing agencies": (
        "=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123",
        (
            other("034", "product code of the processor", "A9999XYZ100T0944"),
            Division("000025"),
            UnitNumber("A999713123456"),
            Expiry(datetime.fromisoformat("2014-02-01T23:59"), with_time=False),
            Produced(datetime.fromisoformat("2013-02-01"), with_time=False),
            other("035", "lot number", "000000000000XYZ123"),
        ),
    ),
}


@pytest.mark.parametrize("where", PUBLISHED)
def test_structures(where: str) -> None:
    raw, structures = PUBLISHED[where]

    assert read_scan(raw).structures == structures


def test_rh_and_kell_beside_the_group() -> None:
    """Worked example of data structure 002: E stands for K- C- c+ E+ e+."""
    group = read_scan("=%51E0").find(Group)

    assert group is not None
    assert group.phenotype == Phenotype(K="-", C="-", c="+", E="+", e="+")


def test_the_identifier_is_looked_at_first() -> None:
    """2.2: these digits behind another identifier are antigens, and no group A."""
    assert read_scan("=\\620000000000000000").find(Group) is None
