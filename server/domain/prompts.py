"""Prompts: what a set of signs shows against the baseline that asks somebody to pause and assess.

The criteria are policy values, looser on purpose than the definitions by which a reaction is
classified afterwards. A prompt says what was seen; it names no cause, and nobody is ever told to
go on. `server/domain/prompt_wording.py` says it in words.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from server.domain.baseline import Baseline, Before
from server.domain.news2 import tenths
from server.domain.payloads import Observed
from server.domain.policy import Policy
from server.domain.request import Patient
from server.domain.words import Consciousness

RISEN: Final = 1
FALLEN: Final = -1


@dataclass(frozen=True, slots=True)
class Reached:
    """A sign that reached a limit of its own, whatever it was before.

    Here and below: `rule` is the policy key of the criterion and names its source, `field` the
    sign, values and limits are in the unit of the field.
    """

    code: str
    rule: str
    field: str
    value: float
    limit: float
    before: Before | None


@dataclass(frozen=True, slots=True)
class Changed:
    """A sign that rose or fell by `limit` or more; a child's pressure by more than `limit` %."""

    code: str
    rule: str
    field: str
    value: float
    limit: float
    before: Before
    direction: int


@dataclass(frozen=True, slots=True)
class Appeared:
    """Something that was not there before: a symptom, oxygen, a change of consciousness."""

    code: str
    rule: str
    what: str
    before: Before | None


Prompt = Reached | Changed | Appeared


@dataclass(frozen=True, slots=True)
class Compared:
    """One set beside its baseline, and the criteria that hold for the patient."""

    observed: Observed
    baseline: Baseline
    policy: Policy
    child: bool

    def change(self, field: str) -> tuple[float, Before] | None:
        """The sign and what it was before, None unless both were taken."""
        value, before = getattr(self.observed, field), self.baseline.signs.get(field)
        return None if value is None or before is None else (value, before)


def prompts_for(
    observed: Observed, baseline: Baseline, policy: Policy, patient: Patient, on: date
) -> tuple[Prompt, ...]:
    """Answer the prompts of a set taken `on` a day of the ward, at or after the start."""
    age = patient.age_years(on)
    child = age is not None and age < policy.prompt_child_under_years
    compared = Compared(observed, baseline, policy, child)
    return tuple(prompt for look in _LOOKS for prompt in look(compared))


def _temperature(seen: Compared) -> Iterator[Prompt]:
    field, value = "temperature_c", seen.observed.temperature_c
    limit = seen.policy.prompt_temperature_c
    if value is not None and tenths(value) >= tenths(limit):
        before = seen.baseline.signs.get(field)
        yield Reached("temperature_high", "prompt.temperature_c", field, value, limit, before)
    rise = seen.policy.prompt_temperature_rise_c
    yield from _moved(seen, "temperature_rise", field, "prompt.temperature_rise_c", rise, RISEN)


def _systolic(seen: Compared) -> Iterator[Prompt]:
    field, policy = "systolic_mmhg", seen.policy
    if seen.child:
        yield from _child_drop(seen, field)
    else:
        drop = policy.prompt_systolic_drop_mmhg
        rule = "prompt.systolic_drop_mmhg"
        yield from _moved(seen, "systolic_drop", field, rule, drop, FALLEN)
    rise = policy.prompt_systolic_rise_mmhg
    yield from _moved(seen, "systolic_rise", field, "prompt.systolic_rise_mmhg", rise, RISEN)


def _child_drop(seen: Compared, field: str) -> Iterator[Prompt]:
    pair, percent = seen.change(field), seen.policy.prompt_systolic_drop_child_percent
    if pair is not None and (pair[1].value - pair[0]) * 100 > percent * pair[1].value:
        rule = "prompt.systolic_drop_child_percent"
        yield Changed("systolic_drop", rule, field, pair[0], percent, pair[1], FALLEN)


def _pulse(seen: Compared) -> Iterator[Prompt]:
    rule, limit = "prompt.pulse_rise_per_min", seen.policy.prompt_pulse_rise_per_min
    yield from _moved(seen, "pulse_rise", "pulse_per_min", rule, limit, RISEN)


def _respirations(seen: Compared) -> Iterator[Prompt]:
    rule = "prompt.respirations_rise_per_min"
    limit = seen.policy.prompt_respirations_rise_per_min
    yield from _moved(seen, "respirations_rise", "respirations_per_min", rule, limit, RISEN)


def _saturation(seen: Compared) -> Iterator[Prompt]:
    field, value = "spo2_percent", seen.observed.spo2_percent
    limit, fall = seen.policy.prompt_spo2_percent, seen.policy.prompt_spo2_fall_percent
    if value is not None and value < limit:
        before = seen.baseline.signs.get(field)
        yield Reached("spo2_low", "prompt.spo2_percent", field, value, limit, before)
    yield from _moved(seen, "spo2_fall", field, "prompt.spo2_fall_percent", fall, FALLEN)


def _moved(
    seen: Compared, code: str, field: str, rule: str, limit: float, direction: int
) -> Iterator[Prompt]:
    pair = seen.change(field)
    if pair is None:
        return
    value, before = pair
    # In whole tenths, so that 38.1 is exactly 1.2 above 36.9.
    if (tenths(value) - tenths(before.value)) * direction >= tenths(limit):
        yield Changed(code, rule, field, value, limit, before, direction)


def _oxygen(seen: Compared) -> Iterator[Prompt]:
    before = seen.baseline.signs.get("on_oxygen")
    was_on_air = before is not None and before.value is False
    if seen.policy.prompt_new_oxygen and seen.observed.on_oxygen and was_on_air:
        yield Appeared("new_oxygen", "prompt.new_oxygen", "on oxygen", before)


def _consciousness(seen: Compared) -> Iterator[Prompt]:
    now, before = seen.observed.consciousness, seen.baseline.signs.get("consciousness")
    if not seen.policy.prompt_new_symptom or now is None or now is Consciousness.ALERT:
        return
    # Without a baseline nobody knows that it is old: it is taken to be new.
    if before is None or now is not before.value:
        yield Appeared("consciousness", "prompt.new_symptom", now.value, before)


def _symptoms(seen: Compared) -> Iterator[Prompt]:
    if not seen.policy.prompt_new_symptom:
        return
    for symptom in seen.observed.symptoms:
        if symptom not in seen.baseline.symptoms:
            yield Appeared("new_symptom", "prompt.new_symptom", symptom, None)


_LOOKS: Final[tuple[Callable[[Compared], Iterator[Prompt]], ...]] = (
    _temperature,
    _systolic,
    _pulse,
    _respirations,
    _saturation,
    _oxygen,
    _consciousness,
    _symptoms,
)
