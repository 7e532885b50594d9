"""What a label says of a unit, by name. Codes: ICCBBA ST-001 v6.2.2 (2023)."""

import pytest

from server.domain.attributes import STOPS
from server.domain.label_attributes import attributes_of
from server.domain.labels import Product, read_scan
from server.domain.labels.products import COLLECTION
from server.domain.site import NO_SITE
from tests.domain.sites import SIGNED


@pytest.mark.parametrize(
    ("scan", "attributes"),
    [
        ("=%5100", ()),
        ("=%51S0", ("k_negative",)),
        ("=%51T0", ("k_positive",)),
        ("=%4800", ("emergency_use",)),
        ("=%4700", ("directed",)),
        ("=%9300", ("biohazard", "directed")),
        ("=%9600", ("autologous",)),
        ("=%9800", ("biohazard", "autologous")),
        ("=%Ma00", ("autologous",)),
        ("=%Mb00", ("biohazard",)),
        ("=%Mq00", ("quarantined",)),
        ("=%Mx00", ("not_for_transfusion",)),
        ("=%H600", ("ask_laboratory",)),
        ("=%J000", ("ask_laboratory",)),
        ("=%0000", ()),
        ("=<E0336V00", ()),
        ("=<E0336100", ("autologous",)),
        ("=<E0336X00", ("biohazard", "autologous")),
        ("=<E0336R00", ("not_for_transfusion",)),
        ("=<E0336G00", ("emergency_use",)),
        ("=<E0336200", ("directed",)),
        ("=<E0336300", ("biohazard", "directed")),
        ('&"000000000300000000', ("hev_negative",)),
        ('&"000000000600000000', ("hev_positive",)),
        ('&"000000000000000000', ()),
        ("&{000000000000000001", ("high_titre_negative",)),
        ("&{000000000000000000", ()),
        ("&(N9990", ("cmv_negative",)),
        ("&(N0000", ()),
    ],
)
def test_a_structure_shows_its_attributes(scan: str, attributes: tuple[str, ...]) -> None:
    assert attributes_of(read_scan(scan).structures, SIGNED) == attributes


@pytest.mark.parametrize(
    ("digits", "attributes"),
    [
        ("9" * 15 + "1" + "00", ("cmv_negative",)),
        ("9" * 15 + "2" + "00", ("cmv_positive",)),
        ("93" + "9" * 14 + "00", ("k_negative",)),
        ("96" + "9" * 14 + "00", ("k_positive",)),
        ("9" * 16 + "96", ("hbs_negative",)),
        ("9" * 16 + "99", ()),
    ],
)
def test_antigens_show_their_attributes(digits: str, attributes: tuple[str, ...]) -> None:
    assert attributes_of(read_scan(f"=\\{digits}").structures, SIGNED) == attributes


def test_a_product_stops_by_itself_where_what_it_shows_stops_the_start() -> None:
    products = [Product("E0336", code, "00") for code in COLLECTION]
    stopping = {name.value for name in STOPS}

    by_itself = [one.collection for one in products if one.stops]
    by_attribute = [
        one.collection for one in products if stopping & set(attributes_of((one,), NO_SITE))
    ]

    assert by_itself == by_attribute


def test_several_structures_show_each_attribute_once() -> None:
    structures = read_scan("=%9600=<E0336100").structures

    assert attributes_of(structures, SIGNED) == ("autologous",)


def test_a_code_of_special_testing_says_nothing_without_the_sites_table() -> None:
    assert attributes_of(read_scan("&(N9990").structures, NO_SITE) == ()
