"""Generated episodes: legal pathways with times that like to fall on boundaries."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import timedelta
from typing import Final

from hypothesis import strategies as st

from server.domain.errors import Refused
from server.domain.events import Event
from server.domain.facts import HungSet
from server.domain.fold import fold
from server.domain.payloads import (
    Acknowledged,
    Payload,
    RateSet,
    Resumed,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.phases import ALLOWED
from server.domain.picture import Case
from server.domain.policy import Policy
from server.domain.words import ClockName, Component, Kind, Phase
from tests.domain.builders import COMMON, POLICIES, at, case, event, request
from tests.domain.samples import SAMPLE


def _seconds(value: int) -> timedelta:
    return timedelta(seconds=value)


QUICK: Final = replace(
    COMMON,
    version="quick",
    start_target=_seconds(60),
    return_within=_seconds(50),
    finish_within=dict.fromkeys(Component, _seconds(600)),
    finish_from=("removed", "issued"),
    baseline_target=_seconds(20),
    baseline_limit=_seconds(90),
    first_opens=_seconds(20),
    first_due=_seconds(30),
    first_limit=_seconds(45),
    running_every=_seconds(100),
    running_early=_seconds(20),
    running_grace=_seconds(25),
    end_due=_seconds(25),
    end_limit=_seconds(70),
    giving_set_life=_seconds(300),
    reaction_every=_seconds(30),
    reaction_grace=_seconds(10),
    reaction_checks_for=_seconds(150),
    late_watch=_seconds(200),
    fate_due=_seconds(60),
    fate_limit=_seconds(150),
    rate_first=_seconds(40),
    rate_max_ml_h=dict.fromkeys(Component, 3600.0),
    reminders_notice=_seconds(15),
    reminders_repeat=_seconds(12),
    reminders_escalate=_seconds(12),
    reminders_second_escalate=_seconds(20),
    reminders_repeat_for=_seconds(100),
)
"""A policy in which a whole pathway takes minutes, so that every second of it can be looked at."""

SLOW_STEPS: Final = st.one_of(
    st.sampled_from([0, 1, 59, 60, 299, 300, 600, 601, 900, 901, 1199, 1200, 1201, 1800, 1801]),
    st.integers(0, 2 * 3600),
)
QUICK_STEPS: Final = st.one_of(st.sampled_from([0, 1, 20, 30, 45, 46]), st.integers(0, 120))
RATES: Final = st.sampled_from([0, 30, 50, 60, 73.04, 100, 150, 299, 300, 400])
QUICK_RATES: Final = st.sampled_from([0, 600, 1500, 1680, 1721.3, 2400, 3599.5, 3600, 3601, 5000])

ENDLESS: Final = frozenset({Kind.NOTE, Kind.CAUSE_GIVEN, Kind.VOIDED, Kind.ASSIGNED})
LIKELY: Final = (Kind.ISSUED, Kind.STARTED, Kind.OBSERVED)


def kinds_in(phase: Phase) -> list[Kind]:
    """What may come next: the steps of the pathway more often than the remarks."""
    allowed = [kind for kind in Kind if phase in ALLOWED[kind] and kind not in ENDLESS]
    return allowed + [kind for kind in LIKELY if kind in allowed] * 3


def _payload(draw: st.DrawFn, kind: Kind, rates: st.SearchStrategy[float]) -> Payload:
    """A payload of the kind, with what matters to clocks and flow drawn."""
    made: dict[Kind, Callable[[], Payload]] = {
        Kind.STARTED: lambda: Started(draw(rates)),
        Kind.RATE_SET: lambda: RateSet(draw(rates)),
        Kind.RESUMED: lambda: Resumed(draw(st.none() | rates)),
        Kind.VOLUME_READ: lambda: VolumeRead(draw(st.integers(0, 300))),
        Kind.STOPPED: lambda: Stopped("fever", given_ml=draw(st.none() | st.integers(0, 300))),
        Kind.ACKNOWLEDGED: lambda: Acknowledged(draw(st.sampled_from(ClockName)), "nurse-2"),
    }
    return made.get(kind, lambda: SAMPLE[kind])()


@st.composite
def pathways(
    draw: st.DrawFn,
    steps: st.SearchStrategy[int] = SLOW_STEPS,
    rates: st.SearchStrategy[float] = RATES,
) -> tuple[Event, ...]:
    """Events that the phases allow, in bedside order."""
    when, events = at(0), list[Event]()
    for place in range(1, draw(st.integers(1, 14)) + 1):
        when += timedelta(seconds=draw(steps))
        kind = draw(st.sampled_from(kinds_in(phase_of(events))))
        added = event(place, when, _payload(draw, kind, rates))
        if is_legal([*events, added]):
            events.append(added)
    return tuple(events)


def phase_of(events: Iterable[Event]) -> Phase:
    return fold(request(), events).phase


def is_legal(events: Iterable[Event]) -> bool:
    """Whether the fold takes them."""
    try:
        fold(request(), events)
    except Refused:
        return False
    return True


@st.composite
def cases(
    draw: st.DrawFn,
    policies: st.SearchStrategy[Policy] = st.sampled_from(list(POLICIES.values())),  # noqa: B008
    steps: st.SearchStrategy[int] = SLOW_STEPS,
    rates: st.SearchStrategy[float] = RATES,
) -> Case:
    """A unit with its request, its events and the sets on its line."""
    line = st.sampled_from([(), (HungSet(at(-10), Component.RED_CELLS),)])
    return case(
        *draw(pathways(steps, rates)),
        policy=draw(policies),
        line=draw(line),
        component=draw(st.sampled_from([Component.RED_CELLS, Component.PLATELETS])),
        volume_ml=draw(st.sampled_from([280, 250.5, None])),
        max_rate_ml_h=draw(st.sampled_from([None, None, 120, 2500])),
        duration_minutes=draw(st.sampled_from([None, 5, 90])),
    )


def quick_cases() -> st.SearchStrategy[Case]:
    """Units under the quick policy."""
    return cases(st.just(QUICK), QUICK_STEPS, QUICK_RATES)
