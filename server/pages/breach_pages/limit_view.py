"""What a limit was: by which values of the policy it lay where it lay, and where they come from."""

from typing import Final

from server.domain.clock import Clock
from server.domain.policy import Policy
from server.domain.policy.keys import KEY, place_of
from server.domain.words import ClockName, Component
from server.pages.policies import ValueView, value_view

RULES: Final = {
    ClockName.START: ("start.target_minutes",),
    ClockName.RETURN: ("return.minutes",),
    ClockName.FINISH: ("finish.minutes", "finish.from", "finish.respect_expiry"),
    ClockName.BASELINE_CHECK: ("baseline.limit_minutes",),
    ClockName.FIRST_CHECK: ("first.opens_minutes", "first.due_minutes", "first.limit_minutes"),
    ClockName.RUNNING_CHECK: ("running.every_minutes", "running.grace_minutes"),
    ClockName.REACTION_CHECK: ("reaction.every_minutes", "reaction.grace_minutes"),
    ClockName.END_CHECK: ("end.due_minutes", "end.limit_minutes"),
    ClockName.SET_CHANGE: ("giving_set.hours", "giving_set.new_before_platelets"),
    ClockName.LATE_WATCH: ("late_watch.hours",),
    ClockName.FATE: ("fate.due_minutes", "fate.limit_minutes"),
}
"""The values of the policy that a limit is worked out from."""


def limit_rules(clock: Clock, policy: Policy, component: Component) -> tuple[ValueView, ...]:
    """Answer the values that judged a clock of a unit of this component."""
    places = (_place(name, component) for name in RULES[clock.name])
    return tuple(value_view(policy.values[place]) for place in places)


def _place(name: str, component: Component) -> str:
    key = KEY[name]
    return place_of(key, component) if key.by_component else name
