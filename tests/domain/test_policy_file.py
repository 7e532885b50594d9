"""What a policy file may say, and what becomes of it."""

from datetime import time, timedelta

import pytest

from server.domain.policy import (
    Policy,
    PolicyError,
    PolicyValue,
    flatten,
    parse_policy,
    source_of,
)
from server.domain.policy.keys import KEYS, STEPS, places
from server.domain.reaction import STEP
from server.domain.words import Component, Recipient
from server.policies import load_policies

POLICIES = load_policies()
COMMON = POLICIES["common"]

TYPED_VALUES: dict[str, object] = {
    "pathway_steps": frozenset(STEPS),
    "start_target": timedelta(minutes=30),
    "start_requires": frozenset({"inspected", "identity_checked"}),
    "sample_valid": timedelta(hours=72),
    "sample_to_end_of_day": False,
    "review_rise_ml_kg": 4,
    "return_within": timedelta(minutes=30),
    "finish_within": dict.fromkeys(Component, timedelta(hours=4)),
    "finish_from": ("removed", "issued"),
    "finish_respect_expiry": True,
    "baseline_target": timedelta(minutes=15),
    "baseline_limit": timedelta(minutes=60),
    "first_opens": timedelta(minutes=10),
    "first_due": timedelta(minutes=15),
    "first_limit": timedelta(minutes=20),
    "running_every": timedelta(minutes=60),
    "running_early": timedelta(minutes=15),
    "running_grace": timedelta(minutes=15),
    "end_due": timedelta(minutes=15),
    "end_limit": timedelta(minutes=60),
    "giving_set_life": timedelta(hours=12),
    "giving_set_new_before_platelets": True,
    "giving_set_drops": ("20", "60"),
    "late_watch": timedelta(hours=24),
    "fate_due": timedelta(minutes=60),
    "fate_limit": timedelta(minutes=240),
    "rate_first": timedelta(minutes=15),
    "rate_first_max_ml_h": 60.0,
    "rate_max_ml_h": {
        Component.RED_CELLS: 300.0,
        Component.PLATELETS: 600.0,
        Component.PLASMA: 600.0,
        Component.CRYOPRECIPITATE: 600.0,
        Component.GRANULOCYTES: 300.0,
        Component.WHOLE_BLOOD: 300.0,
    },
    "rate_overload_max_ml_h": 100.0,
    "rate_max_ml_kg_h": dict.fromkeys(Component, 5.0),
    "rate_child_cap_ml_h": 150.0,
    "rate_child_cap_for": frozenset(Component),
    "rate_child_under_years": 16,
    "rate_drops_per_ml": 20,
    "identity_checkers": 2,
    "identity_abandon": timedelta(minutes=15),
    "identity_band_prefix": "",
    "observations_required": ("temperature", "pulse", "respirations", "blood_pressure"),
    "observations_look_back": timedelta(hours=4),
    "prompt_temperature_c": 38.0,
    "prompt_temperature_rise_c": 1.0,
    "prompt_systolic_drop_mmhg": 30.0,
    "prompt_systolic_drop_child_percent": 25.0,
    "prompt_systolic_rise_mmhg": 30.0,
    "prompt_pulse_rise_per_min": 30.0,
    "prompt_respirations_rise_per_min": 10.0,
    "prompt_spo2_percent": 90.0,
    "prompt_spo2_fall_percent": 4.0,
    "prompt_new_oxygen": True,
    "prompt_new_symptom": True,
    "prompt_child_under_years": 18,
    "reaction_steps": tuple(STEP),
    "reaction_close_requires": frozenset(),
    "reaction_outcomes": (
        "reaction confirmed",
        "not a reaction to the transfusion",
        "undetermined",
        "suspicion withdrawn",
    ),
    "reaction_every": timedelta(minutes=15),
    "reaction_grace": timedelta(minutes=5),
    "reaction_checks_for": timedelta(hours=24),
    "reaction_linked": timedelta(minutes=60),
    "breach_causes": (
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
    "charting_late": timedelta(minutes=15),
    "reminders_notice": timedelta(minutes=10),
    "reminders_repeat": timedelta(minutes=5),
    "reminders_escalate": timedelta(minutes=5),
    "reminders_second_escalate": timedelta(minutes=10),
    "reminders_repeat_for": timedelta(hours=24),
    "reminders_to": Recipient.UNIT_NURSE,
    "reminders_escalate_to": Recipient.CHARGE_NURSE,
    "reminders_second_escalate_to": Recipient.NEXT_CONTACT,
    "reminders_useful": timedelta(minutes=10),
    "reminders_deliver": timedelta(minutes=30),
    "work_porter": timedelta(minutes=16),
    "work_fetch": timedelta(minutes=37),
    "work_carried": timedelta(minutes=10),
    "work_check_and_start": timedelta(minutes=15),
    "work_second_check": timedelta(minutes=7),
    "work_vitals": timedelta(minutes=5),
    "work_finish": timedelta(minutes=10),
    "work_finish_grace": timedelta(minutes=10),
    "work_end_set": timedelta(minutes=5),
    "work_enough_recorded": 20,
    "plan_grid": timedelta(minutes=5),
    "plan_horizon": timedelta(hours=8),
    "plan_longest_wait": timedelta(minutes=240),
    "plan_reassess": timedelta(minutes=30),
    "plan_at_once": frozenset({"platelets", "cryoprecipitate", "granulocytes"}),
    "night_from": time(20, 0),
    "night_until": time(8, 0),
    "retention_years": 30,
}

WARD = """\
[policy]
title = "Ward 7"
based_on = "common"
description = "What differs on ward 7."

[running.every_minutes]
value = 30
unit = "minutes"
source = "Ward 7 procedure 2026, section 4"
verified = true
note = "agreed in June"

[rate.max_ml_h.default]
value = 250
source = "Ward 7 procedure 2026, section 5"

[rate.max_ml_h.platelets]
value = 450.5
source = "Ward 7 procedure 2026, section 6"
"""


def ward(text: str = WARD) -> Policy:
    return parse_policy(text, name="ward7", bases=POLICIES)


def test_every_value_of_the_default_policy_has_its_type() -> None:
    found = {key.attribute: getattr(COMMON, key.attribute) for key in KEYS}

    assert found == TYPED_VALUES


def test_each_key_has_its_attribute_and_each_attribute_its_key() -> None:
    about_itself = {"name", "title", "description", "version", "values"}
    assert {key.attribute for key in KEYS} == set(Policy.__slots__) - about_itself
    assert len({key.name for key in KEYS}) == len(KEYS)
    assert list(COMMON.values) == [place for key in KEYS for place in places(key)]


def test_a_file_overrides_and_keeps_the_rest_with_its_source() -> None:
    policy = ward()
    assert (policy.name, policy.title) == ("ward7", "Ward 7")
    assert policy.description == "What differs on ward 7."
    assert policy.running_every == timedelta(minutes=30)
    assert policy.values["running.every_minutes"] == PolicyValue(
        key="running.every_minutes",
        value=30,
        unit="minutes",
        source="Ward 7 procedure 2026, section 4",
        verified=True,
        note="agreed in June",
    )
    changed = {key for key, value in policy.values.items() if value != COMMON.values[key]}
    assert changed == {"running.every_minutes", *(f"rate.max_ml_h.{one}" for one in Component)}


def test_a_default_stands_for_every_component_that_the_file_does_not_name() -> None:
    policy = ward()
    others = dict.fromkeys(Component, 250.0)
    assert policy.rate_max_ml_h == {**others, Component.PLATELETS: 450.5}
    assert policy.values["rate.max_ml_h.plasma"] == PolicyValue(
        key="rate.max_ml_h.plasma",
        value=250.0,
        unit="mL/h",
        source="Ward 7 procedure 2026, section 5",
        verified=False,
        note="",
    )


def test_one_component_alone_leaves_the_others_as_in_the_base() -> None:
    text = '[policy]\ntitle = "x"\nbased_on = "nz"\n[finish.minutes.plasma]\nvalue = 90\n'
    policy = ward(text + 'source = "ward book"\n')
    assert policy.finish_within == {
        **POLICIES["nz"].finish_within,
        Component.PLASMA: timedelta(minutes=90),
    }


def test_a_file_that_only_names_its_base_has_all_its_values() -> None:
    policy = ward('[policy]\ntitle = "Ward 7"\nbased_on = "uk"\n[start]\n[finish.minutes]\n')
    assert policy.values == POLICIES["uk"].values
    assert policy.description == ""


def test_line_ends_of_windows_and_byte_order_do_not_matter() -> None:
    assert ward(WARD.replace("\n", "\r\n")) == ward()


def test_the_source_of_a_value() -> None:
    policy = ward()
    assert source_of(policy, "running.every_minutes") == "Ward 7 procedure 2026, section 4"
    by_component = source_of(policy, "rate.max_ml_h", Component.PLATELETS)
    assert by_component == "Ward 7 procedure 2026, section 6"
    assert source_of(policy, "rate.max_ml_h.platelets") == by_component
    assert source_of(policy, "running.every_minutes", Component.PLATELETS) == (
        "Ward 7 procedure 2026, section 4"
    )


def test_the_source_of_a_key_by_component_is_each_source_once() -> None:
    assert source_of(ward(), "rate.max_ml_h") == (
        "Ward 7 procedure 2026, section 5; Ward 7 procedure 2026, section 6"
    )


@pytest.mark.parametrize("key", ["rate", "rate.max", "", "nothing", "rate.max_ml_h."])
def test_the_source_of_what_no_policy_has_is_an_error(key: str) -> None:
    with pytest.raises(KeyError):
        source_of(COMMON, key)


def test_the_version_changes_with_any_value_also_an_inherited_one() -> None:
    other = parse_policy(flatten(COMMON).replace("value = 24\n", "value = 23\n"), name="common")
    assert other.late_watch == timedelta(hours=23)
    versions = [
        ward().version,
        ward(WARD.replace("agreed in June", "agreed in July")).version,
        parse_policy(WARD, name="ward7", bases={"common": other}).version,
        parse_policy(WARD, name="ward8", bases=POLICIES).version,
    ]
    assert len(set(versions)) == len(versions)
    assert all(len(version) == 12 and int(version, 16) >= 0 for version in versions)


def test_the_version_does_not_change_with_the_writing() -> None:
    assert ward("# a remark\n" + WARD.replace("30\n", "30 # half an hour\n")) == ward()


def test_policies_can_stand_in_sets() -> None:
    assert {COMMON, parse_policy(flatten(COMMON), name="common")} == {COMMON}
    assert len({*POLICIES.values(), ward()}) == 6


def test_a_policy_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        COMMON.start_target = timedelta(0)  # type: ignore[misc]
    assert issubclass(PolicyError, ValueError)
