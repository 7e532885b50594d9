"""What each limit is called: the words of the policy pages, by the key of the policy file."""

from typing import Final

from server.domain.reaction import STEP
from server.domain.wording import COMPONENT, RECIPIENT
from server.domain.words import Component, Recipient

SECTION: Final = {
    "pathway": "Pathway",
    "start": "Start",
    "sample": "Sample",
    "review": "Review between units",
    "return": "Return to stock",
    "finish": "Finish",
    "baseline": "Baseline observations",
    "first": "First check",
    "running": "Running checks",
    "end": "End observations",
    "giving_set": "Giving set",
    "late_watch": "Late watch",
    "fate": "Fate of the bag",
    "rate": "Rate",
    "identity": "Identity check",
    "observations": "Observations",
    "prompt": "Pause and assess",
    "reaction": "Suspected reaction",
    "breach": "Limits not kept",
    "charting": "Charting",
    "reminders": "Reminders",
    "work": "Nurse work",
    "plan": "Plans",
    "night": "Night",
    "retention": "Keeping records",
}
WORDS: Final = {
    "pathway.steps": "steps that are asked for",
    "start.target_minutes": "target",
    "start.requires": "refused without",
    "sample.valid_hours": "valid for",
    "sample.to_end_of_day": "and then to the end of that ward day",
    "review.rise_ml_per_kg": "red cells for a rise of 10 g/L",
    "return.minutes": "within",
    "finish.minutes": "within",
    "finish.from": "counted from the earliest of",
    "finish.respect_expiry": "the label’s expiry counts too",
    "baseline.target_minutes": "target",
    "baseline.limit_minutes": "limit",
    "first.opens_minutes": "counts from",
    "first.due_minutes": "due after",
    "first.limit_minutes": "limit",
    "running.every_minutes": "every",
    "running.early_minutes": "may be early by",
    "running.grace_minutes": "may be late by",
    "end.due_minutes": "due after",
    "end.limit_minutes": "limit",
    "giving_set.hours": "for",
    "giving_set.new_before_platelets": "a new one before platelets after red cells",
    "giving_set.drops_per_ml": "drops a mL of the sets of the ward",
    "late_watch.hours": "for",
    "fate.due_minutes": "due after",
    "fate.limit_minutes": "limit",
    "rate.first_minutes": "slow start lasts",
    "rate.first_max_ml_h": "slow start, at most",
    "rate.max_ml_h": "adult, at most",
    "rate.overload_max_ml_h": "with a risk of overload, at most",
    "rate.max_ml_kg_h": "child, at most",
    "rate.child_cap_ml_h": "child, never above",
    "rate.child_cap_for": "child’s cap holds for",
    "rate.child_under_years": "a child is under",
    "rate.drops_per_ml": "gravity set gives",
    "identity.checkers": "checked by",
    "identity.abandon_minutes": "left unfinished after",
    "identity.band_prefix": "wristband numbers begin with",
    "observations.required": "a full set has",
    "observations.look_back_hours": "shown from before the unit",
    "prompt.temperature_c": "temperature of, or above",
    "prompt.temperature_rise_c": "temperature risen by",
    "prompt.systolic_drop_mmhg": "systolic pressure fallen by",
    "prompt.systolic_drop_child_percent": "child, systolic pressure fallen by more than",
    "prompt.systolic_rise_mmhg": "systolic pressure risen by",
    "prompt.pulse_rise_per_min": "pulse risen by",
    "prompt.respirations_rise_per_min": "respirations risen by",
    "prompt.spo2_percent": "SpO₂ below",
    "prompt.spo2_fall_percent": "SpO₂ fallen by",
    "prompt.new_oxygen": "oxygen newly given",
    "prompt.new_symptom": "a new symptom",
    "prompt.child_under_years": "a child is under",
    "reaction.steps": "steps, in this order",
    "reaction.close_requires": "not closed without",
    "reaction.outcomes": "closed as one of",
    "reaction.every_minutes": "observations every",
    "reaction.grace_minutes": "may be late by",
    "reaction.checks_hours": "observations go on for at most",
    "reaction.linked_minutes": "after an identity error, units warned of were hung within",
    "breach.causes": "causes that are offered",
    "charting.late_minutes": "a late entry is later than",
    "reminders.notice_minutes": "notice before due",
    "reminders.repeat_minutes": "repeated every",
    "reminders.escalate_minutes": "escalated after",
    "reminders.second_escalate_minutes": "escalated again after",
    "reminders.repeat_hours": "repeated for at most",
    "reminders.to": "told first",
    "reminders.escalate_to": "escalated to",
    "reminders.second_escalate_to": "escalated again to",
    "reminders.useful_minutes": "counted as useful within",
    "reminders.deliver_minutes": "sent to webhooks for at most",
    "work.porter_minutes": "brought by a porter, from the call",
    "work.fetch_minutes": "fetched by a nurse, from the call",
    "work.carried_minutes": "of that, out of storage",
    "work.check_and_start_minutes": "check and start",
    "work.second_check_minutes": "of that, the second person",
    "work.vitals_minutes": "a set of observations",
    "work.finish_minutes": "taking down",
    "work.finish_grace_minutes": "an empty bag may hang for",
    "work.end_set_minutes": "end observations",
    "work.enough_recorded": "own recorded times count from",
    "plan.grid_minutes": "starts lie on a grid of",
    "plan.horizon_hours": "looks ahead for",
    "plan.longest_wait_minutes": "a routine unit waits at most",
    "plan.reassess_minutes": "between units of one patient",
    "plan.at_once": "not left waiting",
    "night.from": "from",
    "night.until": "until",
    "retention.years": "for",
}


def words_of(key: str) -> str:
    """Answer what the value under a key of `Policy.values` is called."""
    if key in WORDS:
        return WORDS[key]
    name, _dot, component = key.rpartition(".")
    return f"{COMPONENT[Component(component)]}, {WORDS[name]}"


def item_words(item: object) -> str:
    """Answer one item of a list: a step of the reaction pathway by its own words."""
    text = str(item)
    return STEP[text].words if text in STEP else text.replace("_", " ")


def recipient_words(word: object) -> str:
    """Answer whom a stage of the reminders goes to, by the word of the policy."""
    return RECIPIENT[Recipient(str(word))]
