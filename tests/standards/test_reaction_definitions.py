"""Published definitions of reactions, judged on what a ward charts.

Sources: CDC NHSN Hemovigilance Module Surveillance Protocol (v1.3.1 app. A and B, and tables that
restate later issues), BSH 2012 and SHOT, National Blood Authority of Australia 2015 app. II,
Lifeblood, TRIP, NZ Blood Service handbook 7.6, ISBT/IHN/AABB 2018. All read in secondary copies;
what is from memory is said in the source of the definition itself.
"""

from typing import Any

import pytest

from server.domain.definition import Charted, Finding, Verdict
from server.domain.payloads import Observed
from server.domain.reaction_definitions import DEFINITIONS
from tests.standards.vectors import vectors

BY_KEY = {definition.key: definition for definition in DEFINITIONS}
VECTORS = {vector["id"]: vector for vector in vectors("reactions.json")["vectors"]}
FIELD = {
    "temp": "temperature_c",
    "SBP": "systolic_mmhg",
    "sbp": "systolic_mmhg",
    "rr": "respirations_per_min",
    "spo2": "spo2_percent",
}
FEVERS = {
    "CDC_FNHTR": "cdc_febrile",
    "UK_BSH_SHOT": "uk_febrile",
    "AU_national_2015": "au_febrile",
    "Lifeblood_current": "lifeblood_febrile",
    "NL_TRIP": "nl_febrile",
}


def named(values: dict[str, float]) -> dict[str, float]:
    return {FIELD[name]: value for name, value in values.items()}


def charted(vector: dict[str, Any], **changed: Any) -> Charted:
    context = vector["context"]
    said = [*context.get("criteria", ()), *context.get("signs", ())]
    signs = {sign.replace(" ", "_") for sign in said} | (
        {"rigors"} if context.get("rigors") else set()
    )
    given: dict[str, Any] = {
        "baseline": named(vector["baseline"]),
        "later": Observed(**named(vector["later"])),  # type: ignore[arg-type]
        "hours_after_end": context["hours_after_end"],
        "age_years": context.get("age_y", 50),
        "weight_kg": context.get("kg"),
        "signs": frozenset(signs),
    }
    return Charted(**given | changed)


def judged(key: str, given: Charted) -> Finding:
    found = BY_KEY[key].look(given)
    assert found is not None
    return found


def said(key: str, given: Charted) -> object:
    """What a definition answers, in the form of the vectors: a grade, or whether it is met."""
    found = judged(key, given)
    if BY_KEY[key].grades:
        return found.grade or "none"
    return found.verdict is Verdict.MET


@pytest.mark.parametrize(
    "name", [name for name, one in VECTORS.items() if "rise_C" in one["expected"]]
)
def test_a_fever_by_five_definitions(name: str) -> None:
    vector = VECTORS[name]
    given, expected = charted(vector), vector["expected"]

    found = {label: said(key, given) for label, key in FEVERS.items()}

    assert found == {label: expected[label] for label in FEVERS}
    assert given.rise_tenths == round(expected["rise_C"] * 10)


@pytest.mark.parametrize(
    "name", [name for name, one in VECTORS.items() if "drop" in one["expected"]]
)
def test_a_low_pressure_by_three_definitions(name: str) -> None:
    vector = VECTORS[name]
    given, expected = charted(vector), vector["expected"]

    uk = judged("uk_hypotensive", given)

    assert said("cdc_hypotensive", given) is expected["CDC_hypotensive"]
    assert said("nz_hypotensive", given) is expected["NZ_TAH"]
    assert given.drop("systolic_mmhg") == expected["drop"]
    if isinstance(expected["UK_JPAC_moderate"], bool):
        assert (uk.verdict is Verdict.MET) is expected["UK_JPAC_moderate"]
    else:
        assert (uk.verdict, uk.why) == (
            Verdict.CANNOT_SAY,
            "under 18: it has figures for adults only",
        )


def test_overload_eight_hours_after_the_end() -> None:
    """Three of A to E, one of them A or B, inside 12 h; the older windows of 6 h are over."""
    given, expected = charted(VECTORS["R17"]), VECTORS["R17"]["expected"]

    found = {
        "ISBT_IHN_AABB_2018_TACO": said("isbt_2018_overload", given),
        "CDC_2016_TACO": said("cdc_2016_overload", given),
        "ISBT_2011_TACO": said("isbt_2011_overload", given),
        "TRALI": said("consensus_lung_injury", given),
        "TAD": said("cdc_dyspnoea", given),
    }

    assert found == {label: expected[label] for label in found}
    assert expected["CDC_2021plus_TACO"].startswith("True")
    assert said("cdc_2021_overload", given) is True


def test_hives_and_itch_three_hours_after_the_end() -> None:
    vector = VECTORS["R19"]
    expected = vector["expected"]
    both, itch = charted(vector), charted(vector, signs=frozenset({"pruritus"}))

    assert expected["CDC_allergic"].startswith(judged("cdc_allergic", both).grade)
    assert expected["itch_only"].startswith(judged("cdc_allergic", itch).grade)
    assert expected["UK"].startswith(judged("uk_allergic", both).grade)
    assert expected["AU_national"].startswith("allergic")
    assert said("au_allergic", both) is True
    assert expected["imputability_definite"].startswith("no")
    assert "excludes a definite link" in judged("cdc_allergic", both).why
