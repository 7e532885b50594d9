"""The page of the compatibility table says what the loaded file says, and who has signed it."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import server.site
from server.domain.site import NO_SITE
from tests.domain.sites import SIGNED
from tests.pages.hospital import Hospital
from tests.services.people import ADMINISTRATOR, MANAGER, NURSE

PAGE = "/compatibility"
WORD = {
    "first": "first choice",
    "acceptable": "acceptable",
    "conditional": "!! under conditions",
    "emergency_only": "!! emergency only",
    "not_listed": "!!! not in the table",
    "never": "!!! never",
}
SIGN = {"pos": "RhD positive", "neg": "RhD negative", "unknown": "RhD not known"}
NOT_COMPONENTS = {"signed_off", "start", "patients", "requirements"}
UNSIGNED = "No clinician has signed the compatibility table of this site."


def rows_of_file(file: dict[str, Any]) -> Iterator[str]:
    """Every row as the page ought to say it, read from the file by itself."""
    for name in file.keys() - NOT_COMPONENTS:
        for group in ("O", "A", "B", "AB", "unknown"):
            patient = "Group not known" if group == "unknown" else f"Patient {group}"
            cells = (file[name][group].get(one, {}) for one in ("O", "A", "B", "AB"))
            yield " ".join([patient, *(said(cell) for cell in cells)])
        rhd = file[name].get("rhd")
        matched = rhd if isinstance(rhd, dict) else {}
        for sign, cells in matched.items():
            if sign == "source":
                continue
            row = [said(cells[one], at_risk=True) for one in ("pos", "neg")]
            yield " ".join([f"Patient {SIGN[sign]}", *row])


def said(cell: dict[str, Any], *, at_risk: bool = False) -> str:
    """One cell: its level, its note, and what RhD adds to it."""
    level = cell.get("level", "not_listed")
    risk = cell.get("at_risk", level)
    more = [cell["note"]] if "note" in cell else []
    if at_risk and risk != level:
        more.append(f"{WORD[risk].lstrip('! ')} for those at risk")
    if cell.get("anti_d"):
        more.append("the laboratory and the prescriber hear of it")
    return f"{WORD[level]} {'; '.join(more)}".strip()


def test_every_row_of_the_shipped_file_is_listed(hospital: Hospital) -> None:
    path = Path(server.site.__file__).with_name("compatibility.toml")
    file = tomllib.loads(path.read_text("utf-8"))
    expected = list(rows_of_file(file))

    text = hospital.visit(NURSE).see(PAGE).text

    assert len(expected) > 30
    assert [row for row in expected if row not in text] == []
    assert UNSIGNED in text
    assert "A start needs a recorded reason at: under conditions, emergency only, not in" in text


@pytest.mark.parametrize("person", [NURSE, MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_whoever_signs_in_finds_it_beside_the_policies(hospital: Hospital, person: Any) -> None:
    visit = hospital.visit(person)

    assert PAGE in visit.see("/policies").links
    assert "Which unit suits which patient" in visit.see(PAGE).text


def test_it_says_who_has_signed_and_when(
    hospital: Hospital, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hospital.store, "site", SIGNED)

    text = hospital.visit(NURSE).see(PAGE).text

    assert "Signed off by Dr Wren Okafor on 1 February 2026." in text
    assert UNSIGNED not in text


def test_without_a_table_it_says_that_nothing_is_judged(
    hospital: Hospital, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hospital.store, "site", NO_SITE)

    assert "No table is loaded Nothing is judged" in hospital.visit(NURSE).see(PAGE).text


def test_nobody_reads_it_without_signing_in(hospital: Hospital) -> None:
    answer = hospital.visit().get(PAGE)

    assert (answer.status_code, answer.headers["location"]) == (303, f"/sign-in?next={PAGE}")
