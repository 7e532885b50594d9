"""Every value of the default policy against its published source, or marked as having none.

Each row names the document and section that it was taken from; "project default" rows have none.
"""

from server.domain.policy.keys import STEPS
from server.policies import load_policies
from tests.standards.policy_rows import Read, Row, by_component, shown

COMMON = load_policies()["common"]
JPAC = "JPAC Transfusion Handbook, 5th ed., "
NZ = "NZ Blood Service, Transfusion Medicine Handbook, "
LIFEBLOOD = "Australian Red Cross Lifeblood, "
BMC = "BMC Health Services Research 2022, s12913-022-07825-6, table 3"
NHSN = "CDC NHSN Hemovigilance Module Surveillance Protocol"
PROJECT = (Read.PROJECT, "project default, to be set locally")
PRACTICE = (Read.PRACTICE, "common practice, no source")

ROWS: dict[str, Row] = {
    # every step that a unit goes through; no source has them all
    "pathway.steps": (STEPS, *PROJECT),
    # 30 min to start after leaving the bank: a children's hospital's own page
    "start.target_minutes": (30, Read.HOSPITAL, "Royal Children's Hospital Melbourne"),
    # identity and visual inspection are part of the bedside check of every unit
    "start.requires": (("inspected", "identity_checked"), Read.ORIGINAL, JPAC + "4.10"),
    # red cells out for longer than 30 min must not go back into stock
    "return.minutes": (30, Read.ORIGINAL, f"{NZ}3.11; {JPAC}4.8"),
    # four hours, from removal (United Kingdom, New Zealand) or issue (Canada)
    **by_component(
        "finish.minutes",
        red_cells=(240, Read.ORIGINAL, f"{JPAC}4.13; {NZ}3.11; CSTM Standards L4.1"),
        platelets=(240, Read.HOSPITAL, "Melbourne Health"),
        plasma=(240, Read.HOSPITAL, "Melbourne Health"),
        cryoprecipitate=(240, Read.MEMORY, "BSH, Administration of Blood Components, 2017"),
        granulocytes=(240, Read.MEMORY, "BSH, Administration of Blood Components, 2017"),
        whole_blood=(240, Read.HOSPITAL, "Waikato Hospital"),
    ),
    "finish.from": (("removed", "issued"), Read.ORIGINAL, f"{JPAC}4.13 (removal"),
    "finish.respect_expiry": (True, Read.MEMORY, "ANZSBT"),
    # baseline within 60 min before, a check at about 15 min, and within 60 min after the end
    "sample.valid_hours": (72, Read.HOSPITAL, "NZ Blood Service clinical resource folder, sample"),
    "sample.to_end_of_day": (
        False,
        Read.ORIGINAL,
        "NZ Blood Service clinical resource folder, sample",
    ),
    "review.rise_ml_per_kg": (4, Read.ORIGINAL, "JPAC Transfusion Handbook chapter 4.13"),
    "baseline.target_minutes": (15, *PROJECT),
    "baseline.limit_minutes": (60, Read.ORIGINAL, f"{JPAC}4.11; {NZ}3.12"),
    "first.opens_minutes": (10, *PROJECT),
    "first.due_minutes": (15, Read.ORIGINAL, f"{JPAC}4.11; {NZ}3.12"),
    "first.limit_minutes": (20, *PROJECT),
    "running.every_minutes": (60, Read.ORIGINAL, LIFEBLOOD + "monitoring page: observe at least"),
    "running.early_minutes": (15, *PROJECT),
    "running.grace_minutes": (15, *PROJECT),
    "end.due_minutes": (15, *PROJECT),
    "end.limit_minutes": (60, Read.ORIGINAL, f"{JPAC}4.11; {NZ}3.12"),
    "late_watch.hours": (24, Read.ORIGINAL, JPAC + "4.11: inpatients are observed for 24 h"),
    "observations.required": (
        ("temperature", "pulse", "respirations", "blood_pressure"),
        Read.ORIGINAL,
        f"{NZ}3.12; {LIFEBLOOD}monitoring page",
    ),
    "observations.look_back_hours": (4, *PROJECT),
    # surveillance criteria, loosened on purpose: they ask to pause, they classify nothing
    "prompt.temperature_c": (38.0, Read.COPY, f"{NHSN}, febrile reaction: 38.0 °C"),
    "prompt.temperature_rise_c": (1.0, Read.COPY, f"{NHSN} v1.3.1, app. B, fever"),
    "prompt.systolic_drop_mmhg": (30.0, Read.COPY, f"{NHSN} v1.3.1, app. B, hypotension of adults"),
    "prompt.systolic_drop_child_percent": (
        25.0,
        Read.COPY,
        f"{NHSN} v1.3.1, app. B, hypotension under 18 years",
    ),
    "prompt.systolic_rise_mmhg": (30.0, *PROJECT),
    "prompt.pulse_rise_per_min": (30.0, *PROJECT),
    "prompt.respirations_rise_per_min": (10.0, *PROJECT),
    "prompt.spo2_percent": (90.0, Read.COPY, f"{NHSN} v1.3.1, app. B, hypoxaemia"),
    "prompt.spo2_fall_percent": (4.0, *PROJECT),
    "prompt.new_oxygen": (True, *PROJECT),
    "prompt.new_symptom": (True, Read.COPY, "BSH, Investigation and Management of Acute"),
    "prompt.child_under_years": (18, Read.COPY, f"{NHSN} v1.3.1, app. B, hypotension: adults"),
    # two qualified people, independently
    "identity.checkers": (2, Read.ORIGINAL, f"{LIFEBLOOD}administration page; {NZ}3.12"),
    "identity.abandon_minutes": (15, *PROJECT),
    "identity.band_prefix": ("", *PROJECT),
    "giving_set.hours": (12, Read.ORIGINAL, LIFEBLOOD + "administration page: 12 h"),
    "giving_set.new_before_platelets": (
        True,
        Read.ORIGINAL,
        f"{LIFEBLOOD}administration page; {JPAC}4.13",
    ),
    # 20 usual for blood sets, 60 for burettes: common practice, no source
    "giving_set.drops_per_ml": (("20", "60"), *PROJECT),
    "rate.first_minutes": (15, Read.ORIGINAL, f"{NZ}3.12; {LIFEBLOOD}monitoring page"),
    "rate.first_max_ml_h": (60.0, *PRACTICE),
    **by_component(
        "rate.max_ml_h",
        red_cells=(300.0, *PROJECT),
        platelets=(600.0, *PROJECT),
        plasma=(600.0, *PROJECT),
        cryoprecipitate=(600.0, *PROJECT),
        granulocytes=(300.0, *PROJECT),
        whole_blood=(300.0, *PROJECT),
    ),
    "rate.overload_max_ml_h": (100.0, *PROJECT),
    **by_component(
        "rate.max_ml_kg_h",
        red_cells=(5.0, Read.ORIGINAL, JPAC + "10.3"),
        platelets=(5.0, *PROJECT),
        plasma=(5.0, *PROJECT),
        cryoprecipitate=(5.0, *PROJECT),
        granulocytes=(5.0, *PROJECT),
        whole_blood=(5.0, *PROJECT),
    ),
    "rate.child_cap_ml_h": (150.0, Read.MEMORY, "BSH, Transfusion for Fetuses, Neonates"),
    "rate.child_cap_for": (
        (
            "red_cells",
            "platelets",
            "plasma",
            "cryoprecipitate",
            "granulocytes",
            "whole_blood",
        ),
        *PROJECT,
    ),
    "rate.child_under_years": (16, *PROJECT),
    "rate.drops_per_ml": (20, *PRACTICE),
    "fate.due_minutes": (60, *PROJECT),
    "fate.limit_minutes": (240, *PROJECT),
    # the steps of published procedures in one order, and vital signs every 15 min
    "reaction.steps": (
        (
            "stop",
            "saline_new_set",
            "abc_and_call",
            "recheck_identity",
            "inspect_bag",
            "observations",
            "tell_clinician",
            "tell_laboratory",
            "return_bag",
            "samples",
            "document",
        ),
        Read.ORIGINAL,
        "Acute Transfusion Reactions, 2012 (summary); Eastern Health",
    ),
    "reaction.close_requires": ((), *PROJECT),
    "reaction.outcomes": (
        (
            "reaction confirmed",
            "not a reaction to the transfusion",
            "undetermined",
            "suspicion withdrawn",
        ),
        *PROJECT,
    ),
    "reaction.every_minutes": (15, Read.ORIGINAL, "Eastern Health, Canada, transfusion reactions"),
    "reaction.grace_minutes": (5, *PROJECT),
    "reaction.checks_hours": (24, *PROJECT),
    "reaction.linked_minutes": (60, *PROJECT),
    "breach.causes": (
        (
            "the unit came late",
            "no second checker free",
            "busy with another patient",
            "break or handover",
            "venous access",
            "patient away or declined",
            "pump or equipment",
            "suspected reaction",
            "done in time, not charted",
            "other",
        ),
        *PROJECT,
    ),
    "charting.late_minutes": (15, *PROJECT),
    "reminders.notice_minutes": (10, *PROJECT),
    "reminders.repeat_minutes": (5, *PROJECT),
    "reminders.escalate_minutes": (5, *PROJECT),
    "reminders.second_escalate_minutes": (10, *PROJECT),
    "reminders.repeat_hours": (24, *PROJECT),
    "reminders.to": ("unit_nurse", *PROJECT),
    "reminders.escalate_to": ("charge_nurse", *PROJECT),
    "reminders.second_escalate_to": ("next_contact", *PROJECT),
    "reminders.useful_minutes": (10, *PROJECT),
    "reminders.deliver_minutes": (30, *PROJECT),
    # measured in other settings: a unit brought or fetched, a set of vital signs
    "work.porter_minutes": (16, Read.ORIGINAL, f"{BMC}: 0.26 h a unit brought by transport"),
    "work.fetch_minutes": (37, Read.ORIGINAL, f"{BMC}: 0.62 h a unit fetched by ward staff"),
    "work.carried_minutes": (10, *PROJECT),
    "work.check_and_start_minutes": (15, *PROJECT),
    "work.second_check_minutes": (7, *PROJECT),
    "work.vitals_minutes": (5, Read.ORIGINAL, "Dall'Ora et al., International Journal of Nursing"),
    "work.finish_minutes": (10, *PROJECT),
    "work.finish_grace_minutes": (10, *PROJECT),
    "work.end_set_minutes": (5, Read.ORIGINAL, "Dall'Ora et al., International Journal of Nursing"),
    "work.enough_recorded": (20, *PROJECT),
    "plan.grid_minutes": (5, *PROJECT),
    "plan.horizon_hours": (8, *PROJECT),
    "plan.longest_wait_minutes": (240, *PROJECT),
    "plan.reassess_minutes": (30, *PROJECT),
    "plan.at_once": (("platelets", "cryoprecipitate", "granulocytes"), *PROJECT),
    # night from 20:00 to 08:00 in the audit
    "night.from": ("20:00", Read.ORIGINAL, "NZMJ 2016;129:30"),
    "night.until": ("08:00", Read.ORIGINAL, "NZMJ 2016;129:30"),
    # at least 30 years by law
    "retention.years": (30, Read.ORIGINAL, "Blood Safety and Quality Regulations 2005, reg. 9(1)"),
}

UNITS = {
    "minutes": "minutes",
    "hours": "hours",
    "years": "years",
    "max_ml_h": "mL/h",
    "cap_ml_h": "mL/h",
    "max_ml_kg_h": "mL/kg/h",
    "per_ml": "drops/mL",
    "ml_per_kg": "mL/kg",
    "checkers": "people",
    "recorded": "times",
    "temperature_c": "°C",
    "rise_c": "°C",
    "mmhg": "mmHg",
    "percent": "%",
    "rise_per_min": "per min",
}


def test_the_default_policy_has_these_values_and_no_others() -> None:
    words = {key: row[2] for key, row in ROWS.items()}
    assert {key: shown(value, words[key]) for key, value in COMMON.values.items()} == ROWS


def test_each_value_of_the_default_policy_has_the_unit_that_its_key_says() -> None:
    for key, value in COMMON.values.items():
        if isinstance(value.value, int | float) and not isinstance(value.value, bool):
            name = ".".join(key.split(".")[:2])
            assert value.unit == next(unit for end, unit in UNITS.items() if name.endswith(end))
