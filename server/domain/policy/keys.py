"""Every key that a policy has: its attribute, its unit and the bounds of the possible.

Bounds only catch slips of the finger; whether a value is right is for the ward to decide.
"""

from dataclasses import dataclass
from typing import Final

from server.domain.policy.value_types import (
    Choice,
    ChoiceSet,
    Digits,
    Hours,
    Minutes,
    Number,
    PartOfAnHour,
    Phrases,
    ValueType,
    WallTime,
    Whole,
    Word,
    YesNo,
)
from server.domain.reaction import STEP
from server.domain.words import Component, Recipient

REQUIREMENTS: Final = (
    "order_consent",
    "group_sample",
    "access",
    "inspected",
    "identity_checked",
    "baseline",
)
STEPS: Final = (
    "order_consent",
    "group_sample",
    "access",
    "collected",
    "received",
    "identity_checked",
    "baseline",
    "spiked",
    "started",
    "first_check",
    "rate_reviewed",
    "running_checks",
    "finished",
    "flushed",
    "end_set",
    "fate",
    "reassessed",
)
ORIGINS: Final = ("removed", "issued", "received", "spiked", "started")
SIGNS: Final = (
    "temperature",
    "pulse",
    "respirations",
    "blood_pressure",
    "spo2",
    "consciousness",
)
DROPS: Final = ("10", "15", "20", "60")
"""Drops that make a mL, as they are printed on the packs of giving sets."""
REACTION_STEPS: Final = tuple(STEP)
COMPONENTS: Final = tuple(component.value for component in Component)
DEFAULT: Final = "default"

DAY: Final = 24 * 60
YES_NO: Final = YesNo("true or false")
WARD_TIME: Final = WallTime("ward time")
RECIPIENT: Final = Word("recipient", Recipient)


@dataclass(frozen=True, slots=True)
class Key:
    """One key: `name` as in the file (`first.due_minutes`), `attribute` as in `Policy`."""

    name: str
    attribute: str
    type: ValueType
    by_component: bool = False

    @property
    def path(self) -> tuple[str, ...]:
        """The name of the table in a file, cut at the dots."""
        return tuple(self.name.split("."))


def minutes(low: int, high: int) -> Minutes:
    """Whole minutes from `low` to `high`."""
    return Minutes("minutes", low, high)


def hours(low: int, high: int) -> Hours:
    """Whole hours from `low` to `high`."""
    return Hours("hours", low, high)


KEYS: Final = (
    Key("pathway.steps", "pathway_steps", ChoiceSet("list", STEPS, least=1)),
    Key("start.target_minutes", "start_target", minutes(1, DAY)),
    Key("start.requires", "start_requires", ChoiceSet("list", REQUIREMENTS, least=0)),
    Key("sample.valid_hours", "sample_valid", hours(1, 1_000)),
    Key("sample.to_end_of_day", "sample_to_end_of_day", YES_NO),
    Key("review.rise_ml_per_kg", "review_rise_ml_kg", Number("mL/kg", 1, 20)),
    Key("return.minutes", "return_within", minutes(1, DAY)),
    Key("finish.minutes", "finish_within", minutes(10, DAY), by_component=True),
    Key("finish.from", "finish_from", Choice("list", ORIGINS, least=1)),
    Key("finish.respect_expiry", "finish_respect_expiry", YES_NO),
    Key("baseline.target_minutes", "baseline_target", minutes(0, DAY)),
    Key("baseline.limit_minutes", "baseline_limit", minutes(1, DAY)),
    Key("first.opens_minutes", "first_opens", minutes(0, 120)),
    Key("first.due_minutes", "first_due", minutes(1, 120)),
    Key("first.limit_minutes", "first_limit", minutes(1, 120)),
    Key("running.every_minutes", "running_every", minutes(0, 480)),
    Key("running.early_minutes", "running_early", minutes(0, 240)),
    Key("running.grace_minutes", "running_grace", minutes(0, 240)),
    Key("end.due_minutes", "end_due", minutes(0, DAY)),
    Key("end.limit_minutes", "end_limit", minutes(1, DAY)),
    Key("giving_set.hours", "giving_set_life", hours(1, 96)),
    Key("giving_set.new_before_platelets", "giving_set_new_before_platelets", YES_NO),
    Key("giving_set.drops_per_ml", "giving_set_drops", Choice("list", DROPS, least=1)),
    Key("late_watch.hours", "late_watch", hours(1, 168)),
    Key("fate.due_minutes", "fate_due", minutes(0, 7 * DAY)),
    Key("fate.limit_minutes", "fate_limit", minutes(1, 7 * DAY)),
    Key("rate.first_minutes", "rate_first", minutes(0, 240)),
    Key("rate.first_max_ml_h", "rate_first_max_ml_h", Number("mL/h", 1, 1_000)),
    Key("rate.max_ml_h", "rate_max_ml_h", Number("mL/h", 1, 6_000), by_component=True),
    Key("rate.overload_max_ml_h", "rate_overload_max_ml_h", Number("mL/h", 1, 6_000)),
    Key("rate.max_ml_kg_h", "rate_max_ml_kg_h", Number("mL/kg/h", 0.1, 100), by_component=True),
    Key("rate.child_cap_ml_h", "rate_child_cap_ml_h", Number("mL/h", 1, 2_000)),
    Key("rate.child_cap_for", "rate_child_cap_for", ChoiceSet("list", COMPONENTS, least=0)),
    Key("rate.child_under_years", "rate_child_under_years", Whole("years", 0, 21)),
    Key("rate.drops_per_ml", "rate_drops_per_ml", Whole("drops/mL", 1, 100)),
    Key("identity.checkers", "identity_checkers", Whole("people", 1, 2)),
    Key("identity.abandon_minutes", "identity_abandon", minutes(1, 240)),
    Key("identity.band_prefix", "identity_band_prefix", Digits("digits", 4, 12)),
    Key("observations.required", "observations_required", Choice("list", SIGNS, least=1)),
    Key("observations.look_back_hours", "observations_look_back", hours(1, 48)),
    Key("prompt.temperature_c", "prompt_temperature_c", Number("°C", 36, 42)),
    Key("prompt.temperature_rise_c", "prompt_temperature_rise_c", Number("°C", 0.5, 5)),
    Key("prompt.systolic_drop_mmhg", "prompt_systolic_drop_mmhg", Number("mmHg", 5, 100)),
    Key(
        "prompt.systolic_drop_child_percent",
        "prompt_systolic_drop_child_percent",
        Number("%", 5, 75),
    ),
    Key("prompt.systolic_rise_mmhg", "prompt_systolic_rise_mmhg", Number("mmHg", 5, 150)),
    Key("prompt.pulse_rise_per_min", "prompt_pulse_rise_per_min", Number("per min", 5, 100)),
    Key(
        "prompt.respirations_rise_per_min",
        "prompt_respirations_rise_per_min",
        Number("per min", 2, 40),
    ),
    Key("prompt.spo2_percent", "prompt_spo2_percent", Number("%", 50, 100)),
    Key("prompt.spo2_fall_percent", "prompt_spo2_fall_percent", Number("%", 1, 30)),
    Key("prompt.new_oxygen", "prompt_new_oxygen", YES_NO),
    Key("prompt.new_symptom", "prompt_new_symptom", YES_NO),
    Key("prompt.child_under_years", "prompt_child_under_years", Whole("years", 0, 21)),
    Key("reaction.steps", "reaction_steps", Choice("list", REACTION_STEPS, least=1)),
    Key(
        "reaction.close_requires",
        "reaction_close_requires",
        ChoiceSet("list", REACTION_STEPS, least=0),
    ),
    Key("reaction.outcomes", "reaction_outcomes", Phrases("list", 20, 80)),
    Key("reaction.every_minutes", "reaction_every", minutes(0, 240)),
    Key("reaction.grace_minutes", "reaction_grace", minutes(0, 120)),
    Key("reaction.checks_hours", "reaction_checks_for", hours(1, 168)),
    Key("reaction.linked_minutes", "reaction_linked", minutes(0, 2 * DAY)),
    Key("breach.causes", "breach_causes", Phrases("list", 20, 80)),
    Key("charting.late_minutes", "charting_late", minutes(0, DAY)),
    Key("reminders.notice_minutes", "reminders_notice", minutes(0, 240)),
    Key("reminders.repeat_minutes", "reminders_repeat", minutes(1, 240)),
    Key("reminders.escalate_minutes", "reminders_escalate", minutes(0, 240)),
    Key("reminders.second_escalate_minutes", "reminders_second_escalate", minutes(0, 240)),
    Key("reminders.repeat_hours", "reminders_repeat_for", hours(1, 168)),
    Key("reminders.to", "reminders_to", RECIPIENT),
    Key("reminders.escalate_to", "reminders_escalate_to", RECIPIENT),
    Key("reminders.second_escalate_to", "reminders_second_escalate_to", RECIPIENT),
    Key("reminders.useful_minutes", "reminders_useful", minutes(1, 240)),
    Key("reminders.deliver_minutes", "reminders_deliver", minutes(1, 240)),
    Key("work.porter_minutes", "work_porter", minutes(0, 240)),
    Key("work.fetch_minutes", "work_fetch", minutes(0, 240)),
    Key("work.carried_minutes", "work_carried", minutes(0, 240)),
    Key("work.check_and_start_minutes", "work_check_and_start", minutes(1, 120)),
    Key("work.second_check_minutes", "work_second_check", minutes(1, 120)),
    Key("work.vitals_minutes", "work_vitals", minutes(1, 60)),
    Key("work.finish_minutes", "work_finish", minutes(1, 120)),
    Key("work.finish_grace_minutes", "work_finish_grace", minutes(0, 120)),
    Key("work.end_set_minutes", "work_end_set", minutes(1, 60)),
    Key("work.enough_recorded", "work_enough_recorded", Whole("times", 1, 10_000)),
    Key("plan.grid_minutes", "plan_grid", PartOfAnHour("minutes", 1, 60)),
    Key("plan.horizon_hours", "plan_horizon", hours(1, 48)),
    Key("plan.longest_wait_minutes", "plan_longest_wait", minutes(0, 7 * DAY)),
    Key("plan.reassess_minutes", "plan_reassess", minutes(0, DAY)),
    Key("plan.at_once", "plan_at_once", ChoiceSet("list", COMPONENTS, least=0)),
    Key("night.from", "night_from", WARD_TIME),
    Key("night.until", "night_until", WARD_TIME),
    Key("retention.years", "retention_years", Whole("years", 1, 100)),
)
KEY: Final = {key.name: key for key in KEYS}
SECTIONS: Final = tuple(dict.fromkeys(key.path[0] for key in KEYS))


def places(key: Key) -> tuple[str, ...]:
    """The keys of `Policy.values` that a key fills: its own, or one for each component."""
    if not key.by_component:
        return (key.name,)
    return tuple(place_of(key, component) for component in COMPONENTS)


def place_of(key: Key, component: str) -> str:
    """The key in `Policy.values` of a key's value for one component."""
    return f"{key.name}.{component}"
