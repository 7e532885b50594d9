"""The folder of a site: what it may hold, and what is taken from the shipped examples."""

from datetime import date
from pathlib import Path

import pytest

from server.domain.attributes import Attribute
from server.domain.policy import PolicyError
from server.domain.site import Coded, Match
from server.domain.words import Component
from server.site import FILES, example, load_site
from server.site.compatibility import read_compatibility
from tests.domain.sites import PRODUCTS, SPECIAL_TESTING

SIGNED_OFF = '[signed_off]\nname = "Dr Wren Okafor"\non = 2026-02-01\n'


def signed(text: str) -> str:
    """The shipped table, signed."""
    return text.replace('[signed_off]\nname = ""\non = ""\n', SIGNED_OFF)


def test_without_a_folder_the_examples_hold_and_no_code_is_known() -> None:
    site = load_site()

    assert (site.products, site.special_testing) == ({}, {})
    assert site.compatibility is not None
    assert not site.compatibility.is_signed
    assert site.record_number is not None
    assert site.record_number.fullmatch("T000001")


def test_an_empty_folder_is_as_none(tmp_path: Path) -> None:
    assert load_site(tmp_path) == load_site()


def test_a_folder_of_all_files(tmp_path: Path) -> None:
    (tmp_path / "compatibility.toml").write_text(signed(example("compatibility.toml")), "utf-8")
    (tmp_path / "products.csv").write_text(PRODUCTS, "utf-8-sig")
    (tmp_path / "special_testing.csv").write_text(SPECIAL_TESTING, "utf-8")
    (tmp_path / "wristband.toml").write_text(
        '[record_number]\npattern = "H[0-9]{6}"\naccepts = ["H123456"]\nrefuses = ["123456"]\n'
    )
    (tmp_path / "notes.txt").write_text("not read")

    site = load_site(tmp_path)

    assert site.compatibility is not None
    assert (site.compatibility.signed_by, site.compatibility.signed_on) == (
        "Dr Wren Okafor",
        date(2026, 2, 1),
    )
    assert site.products["E9991"] == Coded(
        "E9991",
        Component.RED_CELLS,
        {Attribute.IRRADIATED: False, Attribute.LEUCODEPLETED: True},
    )
    assert site.special_testing == {"N9990": Coded("N9990", None, {Attribute.CMV_NEGATIVE: True})}
    assert site.record_number is not None
    assert site.record_number.pattern == "H[0-9]{6}"


def test_a_signed_table_has_another_version() -> None:
    text = example("compatibility.toml")

    assert read_compatibility(text).version != read_compatibility(signed(text)).version


def test_a_file_by_a_slip_of_its_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "compatability.toml").write_text("")

    with pytest.raises(PolicyError) as refused:
        load_site(tmp_path)

    assert str(refused.value) == (
        "compatability.toml, line 1: no site has such a file; expected compatibility.toml"
    )


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotADirectoryError):
        load_site(tmp_path / "none")


def test_a_file_in_another_encoding_is_refused_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "products.csv").write_bytes(b"product_code,component,washed\n\xff\n")

    with pytest.raises(PolicyError) as refused:
        load_site(tmp_path)

    assert str(refused.value) == "products.csv, line 2: not UTF-8; expected a UTF-8 text"


def test_an_empty_table_is_refused_and_not_replaced_by_the_example(tmp_path: Path) -> None:
    (tmp_path / "compatibility.toml").write_text("")

    with pytest.raises(PolicyError) as refused:
        load_site(tmp_path)

    assert refused.value.message.startswith("signed_off: None; expected a table")


@pytest.mark.parametrize("name", ["products.csv", "special_testing.csv", "other.toml"])
def test_only_the_examples_are_shipped(name: str) -> None:
    assert len(FILES) == 5
    with pytest.raises(KeyError):
        example(name)


def test_the_levels_that_always_stop_are_among_those_that_need_a_reason() -> None:
    table = load_site().compatibility

    assert table is not None
    assert {Match.NEVER, Match.NOT_LISTED} <= table.needs_reason
