"""How fast a unit may run: ceilings of the order and of the policy. Rates in mL/h."""

from datetime import datetime

from server.domain.episode import Episode
from server.domain.policy import Policy
from server.domain.request import Patient, Request


def permitted_rate_ml_h(
    request: Request, patient: Patient, policy: Policy, on: datetime
) -> tuple[float, str]:
    """Answer the highest permitted rate and the policy key it comes from ("order" for the order).

    A ceiling of the order comes first. Otherwise the child's ceiling by weight, never above the
    child's cap, or the adult's by component; a recorded overload risk lowers either.
    """
    if request.max_rate_ml_h is not None:
        return request.max_rate_ml_h, "order"
    if is_child(patient, policy, on):
        rate, rule = _child_ceiling(request, patient, policy)
    else:
        rate, rule = policy.rate_max_ml_h[request.component], "rate.max_ml_h"
    if patient.overload_risks and policy.rate_overload_max_ml_h < rate:
        return policy.rate_overload_max_ml_h, "rate.overload_max_ml_h"
    return rate, rule


def is_child(patient: Patient, policy: Policy, on: datetime) -> bool:
    """Whether the patient is known to be under the age from which adult ceilings hold."""
    age = patient.age_years(on.date())
    return age is not None and age < policy.rate_child_under_years


def _child_ceiling(request: Request, patient: Patient, policy: Policy) -> tuple[float, str]:
    if patient.weight_kg is None:
        return policy.rate_child_cap_ml_h, "rate.child_cap_ml_h"
    by_weight = policy.rate_max_ml_kg_h[request.component] * patient.weight_kg
    capped = request.component in policy.rate_child_cap_for
    if capped and by_weight > policy.rate_child_cap_ml_h:
        return policy.rate_child_cap_ml_h, "rate.child_cap_ml_h"
    return by_weight, "rate.max_ml_kg_h"


def ordered_rate_ml_h(
    episode: Episode, policy: Policy, after_slow_ml: float, permitted_ml_h: float
) -> float:
    """The rate the order means once the slow start is over, never above the permitted one.

    An ordered duration covers the whole unit, slow start included: what is left then goes in
    evenly over the rest of it.
    """
    minutes = episode.request.duration_minutes
    slow_minutes = policy.rate_first.total_seconds() / 60
    if minutes is None or minutes <= slow_minutes:
        return permitted_ml_h
    return min(permitted_ml_h, after_slow_ml / (minutes - slow_minutes) * 60)
