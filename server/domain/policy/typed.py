"""A policy: the local values of every limit, each with its unit and its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time, timedelta
from typing import TypeAlias

from server.domain.words import Component, Recipient

PlainValue: TypeAlias = int | float | bool | str | tuple[str, ...]


class PolicyError(ValueError):
    """A policy file that is wrong: names the file, the line and what was expected."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(f"{file}, line {line}: {message}")
        self.file = file
        self.line = line
        self.message = message


@dataclass(frozen=True, slots=True)
class PolicyValue:
    """One value as the file states it, for showing.

    `key` is the key of the file; a value by component carries the component at its end
    (`finish.minutes.platelets`). `verified` is true when the source was read in the original.
    """

    key: str
    value: PlainValue
    unit: str
    source: str
    verified: bool
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The values that a ward runs under, typed; `values` holds the same for showing.

    Durations are `timedelta`; the other attributes carry their unit in the name. Mappings hold
    every component. `version` is the fingerprint of the text that `flatten` writes, so it changes
    with any value, also with an inherited one.
    """

    name: str
    title: str
    description: str
    version: str
    values: Mapping[str, PolicyValue]

    pathway_steps: frozenset[str]
    start_target: timedelta
    start_requires: frozenset[str]
    sample_valid: timedelta
    sample_to_end_of_day: bool
    review_rise_ml_kg: float
    return_within: timedelta
    finish_within: Mapping[Component, timedelta]
    finish_from: tuple[str, ...]
    finish_respect_expiry: bool
    baseline_target: timedelta
    baseline_limit: timedelta
    first_opens: timedelta
    first_due: timedelta
    first_limit: timedelta
    running_every: timedelta
    running_early: timedelta
    running_grace: timedelta
    end_due: timedelta
    end_limit: timedelta
    giving_set_life: timedelta
    giving_set_new_before_platelets: bool
    giving_set_drops: tuple[str, ...]
    late_watch: timedelta
    fate_due: timedelta
    fate_limit: timedelta
    rate_first: timedelta
    rate_first_max_ml_h: float
    rate_max_ml_h: Mapping[Component, float]
    rate_overload_max_ml_h: float
    rate_max_ml_kg_h: Mapping[Component, float]
    rate_child_cap_ml_h: float
    rate_child_cap_for: frozenset[str]
    rate_child_under_years: int
    rate_drops_per_ml: int
    identity_checkers: int
    identity_abandon: timedelta
    identity_band_prefix: str
    observations_required: tuple[str, ...]
    observations_look_back: timedelta
    prompt_temperature_c: float
    prompt_temperature_rise_c: float
    prompt_systolic_drop_mmhg: float
    prompt_systolic_drop_child_percent: float
    prompt_systolic_rise_mmhg: float
    prompt_pulse_rise_per_min: float
    prompt_respirations_rise_per_min: float
    prompt_spo2_percent: float
    prompt_spo2_fall_percent: float
    prompt_new_oxygen: bool
    prompt_new_symptom: bool
    prompt_child_under_years: int
    reaction_steps: tuple[str, ...]
    reaction_close_requires: frozenset[str]
    reaction_outcomes: tuple[str, ...]
    reaction_every: timedelta
    reaction_grace: timedelta
    reaction_checks_for: timedelta
    reaction_linked: timedelta
    breach_causes: tuple[str, ...]
    charting_late: timedelta
    reminders_notice: timedelta
    reminders_repeat: timedelta
    reminders_escalate: timedelta
    reminders_second_escalate: timedelta
    reminders_repeat_for: timedelta
    reminders_to: Recipient
    reminders_escalate_to: Recipient
    reminders_second_escalate_to: Recipient
    reminders_useful: timedelta
    reminders_deliver: timedelta
    work_porter: timedelta
    work_fetch: timedelta
    work_carried: timedelta
    work_check_and_start: timedelta
    work_second_check: timedelta
    work_vitals: timedelta
    work_finish: timedelta
    work_finish_grace: timedelta
    work_end_set: timedelta
    work_enough_recorded: int
    plan_grid: timedelta
    plan_horizon: timedelta
    plan_longest_wait: timedelta
    plan_reassess: timedelta
    plan_at_once: frozenset[str]
    night_from: time
    night_until: time
    retention_years: int

    def __hash__(self) -> int:
        """Hash by version: the mappings have no hash of their own."""
        return hash((self.name, self.version))
