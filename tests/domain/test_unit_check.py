"""The group of one unit for one patient: what warns, what stops, and what is said of it."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from server.domain.compatibility import LEVEL, Verdict
from server.domain.payloads import Issued
from server.domain.picture import Case
from server.domain.site import Match
from server.domain.unit_check import NO_GROUP, NO_TABLE, NOT_ISSUED, UNSIGNED, Finding
from server.domain.words import BloodGroup, Component
from tests.domain.builders import case
from tests.domain.sites import EXAMPLE, SIGNED, example_table
from tests.domain.suiting import A_POS, O_NEG, check, findings, start_of, unit

STAYS = "Anti-D in the past and expected further transfusions are not recorded here."


def test_a_unit_of_the_patients_own_group_has_nothing_against_it() -> None:
    given = unit(Issued(blood_group=BloodGroup.A_POS), patient=A_POS)

    found = check(given)

    assert found.findings == ()
    assert found.verdict == Verdict(
        level=Match.FIRST,
        abo=Match.FIRST,
        rhd=Match.FIRST,
        words=("Red cells, unit A+, patient A+: first choice.",),
        source=(found.verdict.source if found.verdict else ""),
    )
    assert found.signed == "Signed off by Dr Wren Okafor on 1 February 2026."
    assert (found.not_judged, start_of(given)) == ("", None)


def test_a_unit_across_the_abo_barrier_stops_the_start() -> None:
    given = unit(Issued(blood_group=BloodGroup.A_NEG), patient=O_NEG)

    assert findings(given) == {"group_never": True}
    assert start_of(given) == ("The start is refused: Red cells, unit A−, patient O−: never: stop.")
    assert start_of(given, reason="the consultant decided") is None


def test_the_same_groups_the_other_way_round_are_acceptable() -> None:
    cells = unit(Issued(blood_group=BloodGroup.O_NEG), patient=replace(A_POS))
    plasma = unit(Issued(blood_group=BloodGroup.O_NEG), patient=A_POS, component=Component.PLASMA)

    assert (findings(cells), findings(plasma)) == ({}, {"group_never": True})


@pytest.mark.parametrize(
    ("component", "group", "patient", "level"),
    [
        (Component.PLATELETS, BloodGroup.B_POS, A_POS, Match.CONDITIONAL),
        (Component.WHOLE_BLOOD, BloodGroup.O_POS, A_POS, Match.EMERGENCY_ONLY),
        (Component.RED_CELLS, BloodGroup.O_POS, O_NEG, Match.EMERGENCY_ONLY),
    ],
)
def test_what_needs_an_authorisation_needs_a_reason(
    component: Component, group: BloodGroup, patient: Any, level: Match
) -> None:
    given = unit(Issued(blood_group=group), patient=patient, component=component)

    assert findings(given) == {f"group_{level}": True}
    assert LEVEL[level] in (start_of(given) or "")
    assert start_of(given, reason="authorised by the haematologist") is None


def test_a_site_may_let_conditions_through_with_a_warning() -> None:
    table = replace(example_table(), needs_reason=frozenset({Match.NEVER, Match.NOT_LISTED}))
    given = unit(
        Issued(blood_group=BloodGroup.B_POS),
        patient=A_POS,
        component=Component.PLATELETS,
        site=replace(SIGNED, compatibility=table),
    )

    assert findings(given) == {"group_conditional": False, "table_unsigned": False}
    assert start_of(given) is None


def test_a_group_that_is_not_recorded_warns_and_holds_nobody_up() -> None:
    group_o = unit(Issued(blood_group=BloodGroup.O_POS))
    group_a = unit(Issued(blood_group=BloodGroup.A_POS))
    plasma_b = unit(Issued(blood_group=BloodGroup.B_POS), component=Component.PLASMA)

    assert [findings(one) for one in (group_o, group_a, plasma_b)] == [
        {"group_emergency_only": False},
        {"group_never": False},
        {"group_not_listed": False},
    ]
    assert [start_of(one) for one in (group_o, group_a, plasma_b)] == [None, None, None]


def test_a_site_that_records_every_group_may_stop_where_one_is_missing() -> None:
    table = replace(example_table(), unknown_needs_reason=frozenset({Match.NEVER}))
    group_a = unit(Issued(blood_group=BloodGroup.A_POS), site=replace(SIGNED, compatibility=table))

    assert start_of(group_a) == (
        "The start is refused: Red cells, unit A+, patient’s group not recorded: "
        "ask the laboratory. While it is unknown: never: stop."
    )


@pytest.mark.parametrize(
    ("patient", "words"),
    [
        (
            replace(O_NEG, birth_date=None),
            "Sex and age are not recorded: that the patient may bear a child cannot be excluded.",
        ),
        (
            replace(O_NEG, birth_date=date(1990, 5, 4)),
            "Sex is not recorded: that the patient may bear a child cannot be excluded.",
        ),
        (replace(O_NEG, pregnant=True), "The patient is pregnant."),
        (
            replace(O_NEG, birth_date=date(2015, 5, 4)),
            "The patient is a child.",
        ),
    ],
)
def test_what_is_not_known_of_the_patient_is_said(patient: Any, words: str) -> None:
    given = unit(Issued(blood_group=BloodGroup.O_POS), patient=patient)

    verdict = check(given).verdict

    assert verdict is not None
    assert verdict.words[1:] == (
        "RhD positive red cells for an RhD negative patient.",
        words,
        STAYS,
    )


def test_rhd_positive_platelets_ask_to_tell_the_laboratory() -> None:
    young = replace(O_NEG, birth_date=date(1995, 5, 4))
    given = unit(Issued(blood_group=BloodGroup.O_POS), patient=young, component=Component.PLATELETS)

    (found,) = check(given).findings

    assert (found.code, found.stops) == ("anti_d", False)
    assert found.detail == (
        "RhD positive cells for a patient whom anti-D may harm: tell the laboratory and the "
        "prescriber."
    )


def test_a_table_that_nobody_signed_says_so_at_every_check() -> None:
    given = unit(Issued(blood_group=BloodGroup.A_POS), patient=A_POS, site=EXAMPLE)

    found = check(given)

    assert found.signed == UNSIGNED
    assert found.findings == (
        Finding("table_unsigned", UNSIGNED.rstrip("."), UNSIGNED, "", stops=False),
    )


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (case((0, Issued(blood_group=BloodGroup.A_POS))), NO_TABLE),
        (replace(case(), site=SIGNED), NOT_ISSUED),
        (unit(Issued()), NO_GROUP),
    ],
)
def test_what_cannot_be_judged_says_why(given: Case, why: str) -> None:
    found = check(given)

    assert (found.verdict, found.not_judged, found.findings) == (None, why, ())


def test_a_site_without_a_table_says_so() -> None:
    assert check(case((0, Issued()))).signed == NO_TABLE
