"""All published and generated vectors of ISBT 128 and of scanners, where they are at hand.

ICCBBA ST-001 v6.2.2 (2023), the FDA's table of issuing agencies, and scanners tried in a browser;
each vector names its source. The published ones stand in `test_isbt128_published.py` too.
"""

from typing import Any, Final

import pytest

from server.domain.errors import Invalid
from server.domain.labels import (
    Antigens,
    Collected,
    Compound,
    Expiry,
    Group,
    PatientBirthDate,
    PatientId,
    Product,
    RecipientNumber,
    ServiceInstance,
    Structure,
    UnitNumber,
    read_scan,
    read_unit_number,
)
from server.domain.labels.check_character import check_character, check_flags, check_value
from server.domain.labels.forms import FORMS, UNIT
from tests.standards.vectors import vectors

ISBT: Final = vectors("isbt128.json")
TABLES: Final = vectors("isbt128_tables.json")
SCANNER: Final = vectors("scanner.json")
CHECKED: Final = ISBT["check_character"]["valid"]
VALID: Final = ISBT["data_structures"]["valid"]
INVALID: Final = ISBT["data_structures"]["invalid"]
SIGNS: Final = {"pos": "+", "neg": "-"}


def by_raw(vector: dict[str, Any]) -> str:
    """A vector as its test is named after it."""
    return repr(vector["raw"])


@pytest.mark.parametrize("vector", CHECKED, ids=lambda vector: vector["din"])
def test_check_characters(vector: dict[str, Any]) -> None:
    number = vector["din"]

    assert (check_character(number), check_value(number), check_flags(number)) == (
        vector["check_character"],
        vector["checksum_value"],
        vector["type3_flags"],
    )
    assert read_unit_number(number + vector["check_character"]) == UnitNumber(number)


@pytest.mark.parametrize("vector", ISBT["check_character"]["invalid"], ids=lambda v: v["reason"])
def test_a_wrong_check_character_is_refused(vector: dict[str, Any]) -> None:
    with pytest.raises(Invalid):
        read_unit_number(vector["din"] + vector["entered_check_character"])


@pytest.mark.parametrize("vector", VALID, ids=by_raw)
def test_structures(vector: dict[str, Any]) -> None:
    read = read_scan(vector["raw"]).structures

    assert [told(one, said) for one, said in zip(read, vector["parsed"], strict=True)] == [
        {name: value for name, value in said.items() if name not in _RAW}
        for said in vector["parsed"]
    ]


_RAW: Final = ("content", "tds", "meaning", "block_bedside", "fin", "yy", "seq")


def told(one: Structure, said: dict[str, Any]) -> dict[str, Any]:
    """A structure in the words of the vectors."""
    found: dict[str, Any] = {"ds": one.data_structure}
    if isinstance(one, UnitNumber):
        assert (one.facility, one.year, one.serial) == (said["fin"], said["yy"], said["seq"])
        return found | {"din": one.number, "flags": one.flags, "k": one.check_character}
    if isinstance(one, Group):
        return found | _group(one, said)
    if isinstance(one, Product):
        parts = {"pdc": one.code, "collection_type": one.collection, "division": one.division}
        assert one.collection + one.division == said["tds"]
        return found | parts
    return found | _other(one, said)


def _group(group: Group, said: dict[str, Any]) -> dict[str, Any]:
    phenotype = {name: getattr(group.phenotype, name) for name in ("K", "C", "c", "E", "e")}
    if said["kind"] == "message":
        assert bool(group.stops) is said["block_bedside"]
        return {"gg": group.code, "kind": "message", "rh_kell": phenotype}
    decoded = {"kind": "group", "abo": group.abo, "rhd": group.rhd, "use": group.use}
    return {"gg": group.code, **decoded, "rh_kell": phenotype}


def _other(one: Structure, said: dict[str, Any]) -> dict[str, Any]:
    if isinstance(one, Expiry | Collected):
        return {"datetime": f"{one.at:%Y-%m-%dT%H:%M}"} if one.with_time else _day(one)
    if isinstance(one, Antigens):
        rh = "".join(f"{name}{SIGNS[one.result(name) or '']}" for name in ("C", "c", "E", "e"))
        plain = dict(one.results[4:])
        return {"antigens": {"Rh": rh, **plain, "ii": one.more}}
    if isinstance(one, Compound):
        return {"count": one.count, "ref": one.reference}
    if isinstance(one, PatientBirthDate):
        return {"location": one.location, "date": one.date.isoformat()}
    if isinstance(one, PatientId):
        number = {"length": len(one.number), "patient_id": one.number}
        return {"location": one.location, **number}
    return _day(one) if "date" in said else {}


def _day(one: Any) -> dict[str, Any]:
    return {"date": f"{one.at:%Y-%m-%d}"}


@pytest.mark.parametrize("vector", INVALID, ids=by_raw)
def test_what_is_malformed_is_refused_with_its_reason(vector: dict[str, Any]) -> None:
    with pytest.raises(Invalid) as refused:
        read_scan(vector["raw"])

    assert (refused.value.field, len(refused.value.message) > 20) == ("scan", True)


def test_group_codes() -> None:
    read = {code: read_scan(f"=%{code}00").find(Group) for code in TABLES["ds002_gg"]}

    assert {code: _row(group) for code, group in read.items() if group is not None} == {
        code: (
            (row["abo"], row["rhd"], row["use"])
            if row["kind"] == "group"
            else (None, None, row["block_bedside"])
        )
        for code, row in TABLES["ds002_gg"].items()
    }


def _row(group: Group) -> tuple[str | None, str | None, str | bool]:
    return (group.abo, group.rhd, bool(group.stops) if group.use == "message" else group.use)


def test_rh_and_kell_codes() -> None:
    for code, said in TABLES["ds002_r"].items():
        group = read_scan(f"=%51{code}0").find(Group)
        assert group is not None
        phenotype = group.phenotype
        plain = {name: getattr(phenotype, name) for name in ("K", "C", "c", "E", "e")}
        found = plain | {"Mia_Mur": phenotype.mia_mur}
        found["special_testing_barcode_must_be_scanned"] = group.ask_special_testing or None
        assert (code, {name: found[name] for name in said}) == (code, said)


def test_antigen_digits() -> None:
    for digit, pair in TABLES["ds012_pair_values"].items():
        read = read_scan(f"=\\9{digit}{'9' * 14}00").find(Antigens)
        assert read is not None
        told_of = {"nt": None, "ni": None, "neg": "neg", "pos": "pos"}
        assert [read.result("K"), read.result("k")] == [told_of[result] for result in pair]
    for digit, rh in TABLES["ds012_rh_values"].items():
        read = read_scan(f"=\\{digit}{'9' * 15}00").find(Antigens)
        assert read is not None
        signs = "".join(f"{name}{SIGNS[result]}" for name, result in read.results)
        assert (digit, signs or None) == (digit, rh)


def test_collection_types_have_their_words() -> None:
    said = {
        code: read_scan(f"=<E1234{code}00").find(Product)
        for code in TABLES["ds003_collection_type"]
    }

    assert [code for code, one in said.items() if one is None or one.collection_says is None] == []


def test_every_structure_is_known_by_its_length() -> None:
    lengths = TABLES["lengths_including_data_identifier"]
    fixed = {key.split(" ")[0]: length for key, length in lengths.items() if length != "variable"}
    found = {key: len(key) + FORMS[key].length("") for key in fixed if key in FORMS}
    found["=[A-NP-Z1-9]"] = 1 + UNIT.length("")

    assert found == fixed
    assert {key.split(" ")[0] for key in lengths} - set(fixed) < set(FORMS)


def test_only_the_retired_structure_is_called_retired() -> None:
    (retired,) = read_scan("={" + "0" * 18).structures

    assert getattr(retired, "retired", None) is True


@pytest.mark.parametrize("vector", SCANNER["cases"], ids=by_raw)
def test_what_a_scanner_sends(vector: dict[str, Any]) -> None:
    """`A999021123456` lacks its check character too: that is what catches the slip."""
    raw, expected = vector["raw"], vector["expect"]
    refused = expected.startswith(("reject", "manual entry", "plausible typo"))

    if refused:
        with pytest.raises(Invalid):
            read_scan(raw)
    else:
        assert _names(raw) in _EXPECTED, expected


def _names(raw: str) -> tuple[str, ...]:
    return tuple(one.kind for one in read_scan(raw).structures)


_EXPECTED: Final = (
    (UnitNumber.kind,),
    (UnitNumber.kind, Group.kind),
    (Compound.kind, UnitNumber.kind, Group.kind, Product.kind, Expiry.kind),
    (Group.kind,),
    (RecipientNumber.kind,),
    (RecipientNumber.kind, ServiceInstance.kind),
)
