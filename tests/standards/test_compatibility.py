"""Groups of unit and patient, cell by cell, against published tables.

Vectors: compatibility.json, which names its sources beside each table: Australian Red Cross
Lifeblood (component compatibility page), JPAC Transfusion Handbook 2.4, BCSH pre-transfusion
procedures 2012 as summarised by a teaching site, a UK hospital's plasma table, published AABB
practice for whole blood, PMC7727583 for platelets. The RhD rules: the same, and the BCSH amendment
on fresh frozen plasma, 2005.
"""

import re
from typing import Any, Final

import pytest

from server.domain.compatibility import Recipient, judge
from server.domain.requirements import Requirement
from server.domain.site import ALWAYS_STOP, DONORS, RECIPIENTS, UNKNOWN, Match
from server.domain.words import BloodGroup, Component
from tests.domain.sites import example_table
from tests.standards.vectors import vectors

VECTORS: Final[dict[str, Any]] = vectors("compatibility.json")
TABLE: Final = example_table()
COMPONENTS: Final = tuple(Component(name) for name in VECTORS["matrix"])
CELLS: Final = [
    (component, recipient, row)
    for component, rows in VECTORS["matrix"].items()
    for recipient, listed in rows.items()
    for row in listed
]
OLD: Final = 72  # beyond every age at which RhD positive cells would harm most


def named(value: Any) -> str:
    """A cell as its name in the list of tests."""
    return value["donor"] if isinstance(value, dict) else str(value)


@pytest.mark.parametrize(("component", "recipient", "row"), CELLS, ids=named)
def test_every_published_cell_of_the_matrix(
    component: str, recipient: str, row: dict[str, Any]
) -> None:
    group = None if recipient == UNKNOWN else BloodGroup(f"{recipient}+")

    verdict = judge(
        Component(component), BloodGroup(f"{row['donor']}+"), Recipient(group, OLD), TABLE
    )

    assert verdict.abo == Match(row["level"])


@pytest.mark.parametrize("component", COMPONENTS)
def test_donors_stand_in_the_published_order_of_preference(component: Component) -> None:
    published = {
        recipient: [row["donor"] for row in sorted(rows, key=lambda row: row["rank"])]
        for recipient, rows in VECTORS["matrix"][component].items()
    }

    table = TABLE.components[component].abo

    assert {recipient: list(donors) for recipient, donors in table.items()} == published


def test_the_vectors_have_every_cell() -> None:
    assert len(CELLS) == len(COMPONENTS) * len(RECIPIENTS) * len(DONORS) == 100


def test_levels_are_those_of_the_published_list_and_the_two_stops_are_fixed() -> None:
    assert {one.value for one in Match} == set(VECTORS["levels"])
    stops = {name for name, words in VECTORS["levels"].items() if "stop" in words}
    assert {one.value for one in ALWAYS_STOP} == stops


def test_levels_that_need_an_authoriser_need_a_reason_at_the_start() -> None:
    """Caveat of the vectors: conditional and emergency only need a recorded authoriser."""
    assert any("conditional" in text and "authoriser" in text for text in VECTORS["caveats"])
    assert TABLE.needs_reason >= {Match.CONDITIONAL, Match.EMERGENCY_ONLY} | ALWAYS_STOP


@pytest.mark.parametrize("recipient", ["O", "A", "B", "AB"])
@pytest.mark.parametrize("donor", ["O", "A", "B", "AB"])
def test_red_cells_and_plasma_run_in_opposite_directions(donor: str, recipient: str) -> None:
    """JPAC Transfusion Handbook 2.4, Table 2.1: antigens of red cells, antibodies of plasma."""
    antigens = {"O": set(), "A": {"A"}, "B": {"B"}, "AB": {"A", "B"}}
    suits = (Match.FIRST, Match.ACCEPTABLE)

    def level(component: Component) -> Match:
        unit, patient = BloodGroup(f"{donor}-"), BloodGroup(f"{recipient}-")
        return judge(component, unit, Recipient(patient), TABLE).abo

    assert (level(Component.RED_CELLS) in suits) == (antigens[donor] <= antigens[recipient])
    assert (level(Component.PLASMA) in suits) == (antigens[donor] >= antigens[recipient])


RHD: Final = [
    ("red_cells", "+", "+", "first"),
    ("red_cells", "+", "-", "acceptable"),
    ("red_cells", "-", "-", "first"),
    ("red_cells", "-", "+", "emergency_only"),
    ("platelets", "+", "+", "first"),
    ("platelets", "+", "-", "acceptable"),
    ("platelets", "-", "-", "first"),
    ("platelets", "-", "+", "acceptable"),
]


@pytest.mark.parametrize(("component", "patient", "unit", "level"), RHD)
def test_rhd_of_red_cells_and_platelets(
    component: str, patient: str, unit: str, level: str
) -> None:
    """Lifeblood; BCSH 2012 as summarised: RhD positive to negative by override only."""
    names = {"+": "pos", "-": "neg"}
    assert VECTORS["rhd"][component][names[patient]][names[unit]].startswith(level)

    verdict = judge(
        Component(component),
        BloodGroup(f"O{unit}"),
        Recipient(BloodGroup(f"O{patient}"), OLD),
        TABLE,
    )

    assert verdict.rhd == Match(level)


@pytest.mark.parametrize("component", [Component.PLASMA, Component.CRYOPRECIPITATE])
def test_rhd_of_plasma_is_not_matched(component: Component) -> None:
    """BCSH amendment on fresh frozen plasma, 2005: no match and no anti-D needed."""
    verdict = judge(component, BloodGroup.AB_POS, Recipient(BloodGroup.AB_NEG, 30), TABLE)

    assert (verdict.level, verdict.rhd, verdict.anti_d) == (Match.FIRST, None, False)


@pytest.mark.parametrize("component", [Component.RED_CELLS, Component.WHOLE_BLOOD])
@pytest.mark.parametrize(
    ("age", "pregnant", "level"),
    [
        (17, None, Match.NEVER),
        (18, None, Match.EMERGENCY_ONLY),
        (30, True, Match.NEVER),
        (50, None, Match.EMERGENCY_ONLY),
        (51, None, Match.EMERGENCY_ONLY),
        (None, None, Match.EMERGENCY_ONLY),
    ],
)
def test_rhd_positive_red_cells_are_never_for_a_negative_child_or_mother(
    component: Component, *, age: int | None, pregnant: bool | None, level: Match
) -> None:
    """Lifeblood: under 18 years; females of childbearing potential, threshold 50 years.

    Sex is not recorded: only a pregnancy tells. Otherwise the words say that it cannot be told.
    """
    recipient = Recipient(BloodGroup.O_NEG, age, pregnant)

    verdict = judge(component, BloodGroup.O_POS, recipient, TABLE)

    unknown = any("cannot be excluded" in words for words in verdict.words)
    assert (verdict.level, unknown) == (level, level is not Match.NEVER and age != 51)


@pytest.mark.parametrize(
    ("age", "raised"), [(12, True), (35, True), (50, True), (51, False), (None, True)]
)
def test_rhd_positive_platelets_raise_anti_d_where_it_may_matter(
    age: int | None, *, raised: bool
) -> None:
    """PMC7727583; Lifeblood: considered for girls and females of childbearing potential."""
    recipient = Recipient(BloodGroup.A_NEG, age)

    verdict = judge(Component.PLATELETS, BloodGroup.A_POS, recipient, TABLE)

    assert (verdict.level, verdict.anti_d) == (Match.ACCEPTABLE, raised)


def test_every_published_special_requirement_has_a_name_and_its_components() -> None:
    """BSH 2020, SaBTO 2012, Canadian Blood Services ch. 15 and others, beside each in the file."""
    for row in VECTORS["special_requirements"]:
        requirement = Requirement(re.sub("_neg$", "_negative", row["code"].lower()))
        published = {Component(name) for name in row["applies"] if name != "all components"}
        table = TABLE.requirements[requirement]
        assert published <= table.components
        assert table.source
    assert len(VECTORS["special_requirements"]) == len(Requirement)


def test_granulocytes_are_judged_as_red_cells() -> None:
    """From memory: they hold red cells. No published table was found; the laboratory decides."""
    table = TABLE.components

    assert table[Component.GRANULOCYTES].abo == table[Component.RED_CELLS].abo
    assert table[Component.GRANULOCYTES].source.startswith("from memory")


def test_the_shipped_table_is_an_example_that_nobody_has_signed() -> None:
    assert (TABLE.is_signed, TABLE.signed_by, TABLE.signed_on) == (False, "", None)
