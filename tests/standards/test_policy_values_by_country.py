"""What four countries state differently, against the published source of each value.

Each row names the document and section that it was taken from. What a country's file does not
state it keeps from the default policy, with the default's source.
"""

import pytest

from server.policies import load_policies
from tests.standards.policy_rows import Read, Row, by_component, shown

POLICIES = load_policies()
JPAC = "JPAC Transfusion Handbook, 5th ed., "
BSH = "BSH, Administration of Blood Components, 2017"
BSH_CHILD = "BSH, Transfusion for Fetuses, Neonates and Older Children, 2016"
HANDBOOK = "NZ Blood Service, Transfusion Medicine Handbook, "
WAIKATO = "Waikato Hospital page in the NZ Blood Service clinical resource folder"
LIFEBLOOD = "Australian Red Cross Lifeblood, "
MELBOURNE = "Melbourne Health, blood administration policy"
ANZSBT = "ANZSBT, Guidelines for the Administration of Blood Products, 3rd ed."
CSTM = "CSTM Standards L4.1, citing CSA Z902-04, 11.4.6"
GUIDE = "Canadian Blood Services, Clinical Guide to Transfusion, ch. 9"
PROJECT = (Read.PROJECT, "project default, to be set locally")
FOUR_SIGNS = ("temperature", "pulse", "respirations", "blood_pressure")

UNITED_KINGDOM: dict[str, Row] = {
    "return.minutes": (30, Read.ORIGINAL, JPAC + "4.8"),
    **by_component(
        "finish.minutes",
        red_cells=(240, Read.ORIGINAL, JPAC + "4.13"),
        platelets=(240, Read.MEMORY, BSH),
        plasma=(240, Read.MEMORY, BSH),
        cryoprecipitate=(240, Read.MEMORY, BSH + ": 4 h after thawing"),
        granulocytes=(240, Read.MEMORY, BSH),
        whole_blood=(240, Read.MEMORY, BSH),
    ),
    "finish.from": (("removed",), Read.ORIGINAL, JPAC + "4.13: removal from controlled"),
    "baseline.limit_minutes": (60, Read.ORIGINAL, JPAC + "4.11"),
    "first.due_minutes": (15, Read.ORIGINAL, JPAC + "4.11"),
    "running.every_minutes": (0, Read.ORIGINAL, JPAC + "4.11: regular visual observation"),
    "end.limit_minutes": (60, Read.ORIGINAL, JPAC + "4.11"),
    "late_watch.hours": (24, Read.ORIGINAL, JPAC + "4.11"),
    # respirations at 15 min and at the end only if other signs changed
    "observations.required": (
        ("temperature", "pulse", "blood_pressure"),
        Read.ORIGINAL,
        JPAC + "4.11",
    ),
    "identity.checkers": (2, Read.PROJECT, JPAC + "4.10 leaves one or two to local policy"),
    "giving_set.hours": (12, Read.MEMORY, BSH),
    "giving_set.new_before_platelets": (True, Read.ORIGINAL, JPAC + "4.13"),
    **by_component(
        "rate.max_ml_kg_h",
        red_cells=(5.0, Read.ORIGINAL, JPAC + "10.3"),
        platelets=(20.0, Read.ORIGINAL, JPAC + "10.3: 10 to 20 mL/kg/h"),
        plasma=(20.0, Read.MEMORY, BSH_CHILD),
        cryoprecipitate=(20.0, Read.MEMORY, BSH_CHILD),
        granulocytes=(5.0, *PROJECT),
        whole_blood=(5.0, *PROJECT),
    ),
    "rate.child_cap_ml_h": (150.0, Read.MEMORY, BSH_CHILD),
    "rate.child_cap_for": (
        ("red_cells", "granulocytes", "whole_blood"),
        Read.MEMORY,
        BSH_CHILD + ": the cap is given for red cells",
    ),
    "night.from": ("20:00", Read.ORIGINAL, "Ambler 2006"),
    "night.until": ("06:00", Read.ORIGINAL, "Ambler 2006"),
    "retention.years": (30, Read.ORIGINAL, "reg. 9(1)(e), as amended by SI 2006/2013"),
}

NEW_ZEALAND: dict[str, Row] = {
    "return.minutes": (30, Read.ORIGINAL, HANDBOOK + "3.11"),
    **by_component(
        "finish.minutes",
        red_cells=(240, Read.ORIGINAL, HANDBOOK + "3.11"),
        platelets=(60, Read.ORIGINAL, HANDBOOK + "3.11: 1 h from issue"),
        plasma=(240, Read.HOSPITAL, WAIKATO + ": 4 h"),
        cryoprecipitate=(240, *PROJECT),
        whole_blood=(240, Read.HOSPITAL, WAIKATO + ": 4 h"),
    ),
    "finish.from": (("removed", "issued"), Read.ORIGINAL, HANDBOOK + "3.11: removal or issue"),
    "baseline.limit_minutes": (60, Read.ORIGINAL, HANDBOOK + "3.12"),
    "first.due_minutes": (15, Read.ORIGINAL, HANDBOOK + "3.12"),
    "running.every_minutes": (60, Read.ORIGINAL, HANDBOOK + "3.12: local, many use every 30 to"),
    "end.limit_minutes": (60, Read.ORIGINAL, HANDBOOK + "3.12"),
    "observations.required": (FOUR_SIGNS, Read.ORIGINAL, HANDBOOK + "3.12"),
    "identity.checkers": (2, Read.ORIGINAL, HANDBOOK + "3.12: independent double check"),
    "rate.first_minutes": (15, Read.ORIGINAL, HANDBOOK + "3.12: close observation"),
    # 50 mL in 15 min
    "rate.first_max_ml_h": (200.0, Read.HOSPITAL, WAIKATO + ": up to 50 mL in the first 15 min"),
    "night.from": ("20:00", Read.ORIGINAL, "NZMJ 2016;129:30"),
    "night.until": ("08:00", Read.ORIGINAL, "NZMJ 2016;129:30"),
    "retention.years": (30, *PROJECT),
}

AUSTRALIA: dict[str, Row] = {
    "start.target_minutes": (30, Read.HOSPITAL, "Royal Children's Hospital Melbourne"),
    "return.minutes": (30, *PROJECT),
    **by_component(
        "finish.minutes",
        red_cells=(240, Read.HOSPITAL, MELBOURNE + ": 4 h"),
        platelets=(240, Read.HOSPITAL, MELBOURNE + ": 4 h"),
        plasma=(240, Read.HOSPITAL, MELBOURNE + ": 4 h"),
        cryoprecipitate=(240, Read.MEMORY, ANZSBT),
        granulocytes=(240, *PROJECT),
        whole_blood=(240, *PROJECT),
    ),
    "finish.from": (("started",), Read.HOSPITAL, MELBOURNE + ": from the commencement"),
    "finish.respect_expiry": (True, Read.MEMORY, ANZSBT),
    "first.due_minutes": (15, Read.ORIGINAL, LIFEBLOOD + "monitoring page"),
    "running.every_minutes": (60, Read.ORIGINAL, LIFEBLOOD + "monitoring page: observe at least"),
    "observations.required": (FOUR_SIGNS, Read.ORIGINAL, LIFEBLOOD + "monitoring page"),
    "identity.checkers": (2, Read.ORIGINAL, LIFEBLOOD + "administration page: two qualified"),
    "giving_set.hours": (12, Read.ORIGINAL, LIFEBLOOD + "administration page: 12 h"),
    "giving_set.new_before_platelets": (True, Read.ORIGINAL, LIFEBLOOD + "administration page"),
    "rate.first_minutes": (15, Read.ORIGINAL, LIFEBLOOD + "monitoring page: close observation"),
    "night.from": ("20:00", Read.ORIGINAL, "ANZ intensive care study"),
    "night.until": ("08:00", Read.ORIGINAL, "ANZ intensive care study"),
    "retention.years": (30, *PROJECT),
}

CANADA: dict[str, Row] = {
    # raised from 30 min: above 60 min, discard
    "return.minutes": (60, Read.ORIGINAL, "CSA Z902-15, 10.10.5"),
    **by_component(
        "finish.minutes",
        red_cells=(240, Read.ORIGINAL, CSTM),
        platelets=(240, Read.MEMORY, CSTM),
        plasma=(240, Read.MEMORY, CSTM),
        cryoprecipitate=(240, Read.MEMORY, CSTM),
        granulocytes=(240, *PROJECT),
        whole_blood=(240, *PROJECT),
    ),
    "finish.from": (("issued",), Read.ORIGINAL, CSTM + ": issue from the"),
    "baseline.limit_minutes": (30, Read.MEMORY, GUIDE),
    "first.due_minutes": (15, Read.MEMORY, GUIDE),
    "running.every_minutes": (60, Read.MEMORY, GUIDE + ": hourly, or as local policy says"),
    "observations.required": ((*FOUR_SIGNS, "spo2"), Read.MEMORY, GUIDE),
    # never above 2 mL/min
    "rate.first_max_ml_h": (120.0, Read.COPY, "Newfoundland and Labrador"),
    "retention.years": (30, *PROJECT),
}

COUNTRIES = {"uk": UNITED_KINGDOM, "nz": NEW_ZEALAND, "au": AUSTRALIA, "ca": CANADA}


@pytest.mark.parametrize("name", COUNTRIES)
def test_a_country_states_these_values_and_keeps_the_default_for_the_others(name: str) -> None:
    rows, values = COUNTRIES[name], POLICIES[name].values
    assert {key: shown(values[key], row[2]) for key, row in rows.items()} == rows
    others = {key: value for key, value in values.items() if key not in rows}
    common = POLICIES["common"].values
    assert others == {key: value for key, value in common.items() if key not in rows}
