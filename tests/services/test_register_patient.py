"""Patients are registered, changed and found by those of their wards only."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Cancelled
from server.domain.request import Patient
from server.domain.words import BloodGroup, Level
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.register_patient import find_patients, read_patient, register_patient
from server.store.sessions import Change
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    P1,
    P2,
    P9,
    PROGRAM,
    patient_draft,
    register,
)
from tests.store.facts import counted_queries

FULL = Patient(
    "p7",
    "T000007",
    "Oak",
    "Olive",
    date(1990, 2, 28),
    BloodGroup.AB_NEG,
    71.5,
    pregnant=True,
    overload_risks=("heart failure", "renal failure"),
    spo2_scale=2,
)


def _register(charting: Charting, patient: Patient, actor: Actor = CHARGE) -> Patient:
    with charting.store.write() as session:
        return register_patient(session, actor, patient_draft(patient), now=at(20))


def _read(charting: Charting, patient_id: str, actor: Actor = PROGRAM) -> Patient:
    with charting.store.read() as session:
        return read_patient(session, actor, patient_id)


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [CHARGE, PROGRAM], ids=lambda one: one.id)
def test_a_patient_is_kept_as_registered(charting: Charting, actor: Actor) -> None:
    assert _register(charting, FULL, actor) == FULL
    assert _read(charting, "p7") == FULL


def test_blanks_around_names_are_cut_and_an_id_is_given(charting: Charting) -> None:
    draft = replace(
        patient_draft(FULL), id=None, family_name=" Oak ", given_name=" Olive", record_number="T7 "
    )

    with charting.store.write() as session:
        entered = register_patient(session, CHARGE, draft, now=at(0))

    assert entered == replace(FULL, id=entered.id, record_number="T7")
    assert _read(charting, entered.id) == entered


@ON_BOTH_ENGINES
def test_what_changes_a_ceiling_changes_the_units(charting: Charting) -> None:
    """280 mL from 20 min on, at 100 mL/h instead of 300, would end long after the limit."""
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    charting.open("e3", "p1", ward_id="w2")
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    _register(charting, replace(P1, overload_risks=("heart failure",)), PROGRAM)

    assert {change.ward_id: change.episode_ids for change in heard[0]} == {
        "w1": frozenset({"e1"}),
        "w2": frozenset({"e3"}),
    }
    rows = {row.picture.case.request.id: row.picture for row in charting.board(20).rows}
    assert rows["e1"].infusion.permitted_rate_ml_h == 100
    assert rows["e2"].infusion.permitted_rate_ml_h == 300
    assert charting.rebuild(20).differed == ()


def test_units_long_off_the_board_are_left_as_they_were(charting: Charting) -> None:
    charting.open("old", "p1")
    charting.record(-60, Cancelled("not needed"), "old", now=-50)
    charting.tick(2 * 24 * 60)
    charting.open("new", "p1", now=2 * 24 * 60)
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    with charting.store.write() as session:
        register(session, replace(P1, weight_kg=70), minute=2 * 24 * 60)

    assert [change.episode_ids for change in heard[0]] == [frozenset({"new"})]


def test_a_child_s_unit_is_at_risk_at_once(charting: Charting) -> None:
    charting.run()
    before = charting.state().level

    _register(charting, replace(P1, birth_date=date(2022, 3, 3), weight_kg=12), PROGRAM)

    assert (before, charting.state().level) == (Level.STEADY, Level.AT_RISK)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"record_number": " "}, "record_number"),
        ({"family_name": ""}, "family_name"),
        ({"given_name": "x" * 201}, "given_name"),
        ({"weight_kg": 0.1}, "weight_kg"),
        ({"birth_date": date(2026, 3, 4)}, "birth_date"),
    ],
)
def test_a_patient_who_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _register(charting, replace(FULL, **changes))

    assert (refused.value.field, charting.everything()) == (field, before)


def test_a_newborn_may_be_registered(charting: Charting) -> None:
    assert _register(charting, replace(FULL, birth_date=date(2026, 3, 3))).birth_date == date(
        2026, 3, 3
    )


@pytest.mark.parametrize("actor", [NURSE, MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_who_does_not_order_does_not_register(charting: Charting, actor: Actor) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden):
        _register(charting, FULL, actor)

    assert charting.everything() == before


def test_the_patient_of_another_ward_is_neither_read_nor_changed(charting: Charting) -> None:
    charting.open("e9", "p9", ward_id="w2")
    before = charting.everything()

    with pytest.raises(Forbidden, match="this patient is not on one of your wards"):
        _register(charting, replace(P9, weight_kg=1))
    with pytest.raises(Forbidden, match="this patient is not on one of your wards"):
        _read(charting, "p9", NURSE)

    assert charting.everything() == before


def test_a_patient_of_two_wards_belongs_to_both(charting: Charting) -> None:
    charting.open("e1", "p1", ward_id="w1")
    charting.open("e2", "p1", ward_id="w2")

    assert [_read(charting, "p1", actor) for actor in (NURSE, OUTSIDER)] == [P1, P1]


def test_a_patient_nobody_ordered_for_belongs_to_whoever_asks(charting: Charting) -> None:
    assert _read(charting, "p2", OUTSIDER) == P2


def test_an_unknown_patient_is_not_found(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the patient was not found"):
        _read(charting, "p5")


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("actor", "typed", "found"),
    [
        (NURSE, "", [P1, P2]),
        (NURSE, "ald", [P1]),
        (NURSE, "ELM", []),
        (OUTSIDER, "", [P2, P9]),
        (PROGRAM, "t0000", [P1, P2, P9]),
        (PROGRAM, "nobody", []),
    ],
)
def test_only_patients_of_one_s_own_wards_are_found(
    charting: Charting, actor: Actor, typed: str, found: list[Patient]
) -> None:
    charting.open("e1", "p1", ward_id="w1")
    charting.open("e9", "p9", ward_id="w2")

    with charting.store.read() as session:
        assert find_patients(session, actor, typed) == tuple(found)


def test_many_namesakes_elsewhere_hide_nobody(charting: Charting) -> None:
    """Twenty are listed: those of other wards must not fill the list."""
    for number in range(25):
        _register(charting, replace(P9, id=f"x{number}", family_name="Aaa"), PROGRAM)
        charting.open(f"e{number}", f"x{number}", ward_id="w2")

    with charting.store.read() as session:
        assert find_patients(session, NURSE, "") == (P1, P2, P9)
        assert len(find_patients(session, OUTSIDE_CHARGE, "")) == 20


@pytest.mark.parametrize("typed", ["T000001", "T00000"])
def test_finding_one_takes_as_many_queries_as_finding_three(charting: Charting, typed: str) -> None:
    with charting.store.read() as session, counted_queries(charting.store) as sent:
        found = find_patients(session, NURSE, typed)

    assert (len(found) in (1, 3), len(sent)) == (True, 1)
