"""Every answer of what would have kept a limit, proven apart: kept at the minute, not one before.

The facts are moved here by code of the tests (`late_units`), and looked at by the engine.
"""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, assume, given, settings

from server.domain.picture import Case, picture
from server.domain.why.attempt import Way
from server.domain.why.earlier import Avoided, Rate
from server.domain.why.explain import Why, ask, explain
from server.domain.why.rerun import Key
from server.domain.words import ClockName
from tests.domain.late_units import Late, late_units
from tests.domain.moved_acts import (
    NOW,
    a_second_late,
    in_by_at_rate,
    is_breached,
    is_kept,
    moved_by,
)

PASSED = [name for name in ClockName if name is not ClockName.LATE_WATCH]


@pytest.mark.parametrize("name", PASSED)
@given(late=late_units())
@settings(
    max_examples=15, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow]
)
def test_the_limit_is_kept_at_the_minute_and_not_one_minute_later(
    name: ClockName, late: Late
) -> None:
    unit = late.unit
    found = [one for one in picture(unit, NOW).breaches if one.clock is name]
    assume(found)
    for breach in found:
        why = _why(unit, (breach.clock, breach.n))
        for avoided in why.avoided:
            prove(unit, (breach.clock, breach.n), avoided)


def prove(unit: Case, key: Key, avoided: Avoided) -> None:
    """Run the engine on facts moved apart: each step below the answer still breaks the limit."""
    assert is_breached(moved_by(unit, avoided, 0), key)
    if avoided.rate is not None:
        _prove_rate(unit, avoided, avoided.rate)
        return
    assert not is_breached(moved_by(unit, avoided, avoided.minutes or 1), key), avoided
    if avoided.way is Way.BY:
        assert not is_kept(a_second_late(unit, avoided), key)
    for steps in range(1, avoided.minutes or 1):
        assert is_breached(moved_by(unit, avoided, steps), key), (steps, avoided)


def _prove_rate(unit: Case, avoided: Avoided, rate: Rate) -> None:
    """By an integral of its own: in by the limit with the rate, and not with one mL/h less."""
    limit = next(one.limit_at for one in picture(unit, NOW).breaches if one.clock == "finish")
    found = in_by_at_rate(unit, rate.rate_ml_h, rate.volume_ml, limit)

    assert found is not None
    assert abs(found - avoided.at) <= timedelta(seconds=1)
    assert in_by_at_rate(unit, rate.rate_ml_h - 1, rate.volume_ml, limit) is None
    assert rate.rate_ml_h <= rate.permitted_ml_h


def _why(unit: Case, key: Key) -> Why:
    asked = ask(unit, key, NOW)
    assert asked is not None
    return explain(asked)
