"""Properties of the fold, the flow, the clocks and the order, over generated episodes."""

from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.clock import state_at
from server.domain.clocks import schedule
from server.domain.events import Event
from server.domain.fold import fold
from server.domain.payloads import Voided
from server.domain.picture import Case, picture, pictures
from server.domain.words import ClockState
from tests.domain.builders import at, event, facts_from, request
from tests.domain.episodes import cases, is_legal, pathways

FORWARD = {
    ClockState.PENDING: 0,
    ClockState.OPEN: 1,
    ClockState.DUE: 2,
    ClockState.OVERDUE: 3,
    ClockState.MET: 4,
    ClockState.MET_LATE: 4,
    ClockState.MISSED: 4,
    ClockState.LAPSED: 4,
}
MOMENTS = st.lists(st.integers(-600, 100_000).map(lambda second: at(0, second)), max_size=40)


@given(st.data(), pathways())
@settings(max_examples=50)
def test_any_order_of_the_same_events_folds_to_the_same_episode(
    data: st.DataObject, events: tuple[Event, ...]
) -> None:
    shuffled = data.draw(st.permutations(events))

    assert fold(request(), shuffled) == fold(request(), events)


@given(st.data(), cases())
@settings(max_examples=33)
def test_any_order_of_the_same_events_gives_the_same_picture(
    data: st.DataObject, unit: Case
) -> None:
    shuffled = replace(unit, events=tuple(data.draw(st.permutations(unit.events))))
    now = data.draw(st.integers(0, 50_000).map(lambda second: at(0, second)))
    first, second = picture(unit, now), picture(shuffled, now)

    assert replace(second, case=unit) == first


@given(st.data(), pathways())
@settings(max_examples=66)
def test_voiding_an_event_equals_never_having_had_it(
    data: st.DataObject, events: tuple[Event, ...]
) -> None:
    if not events:
        return
    mistake = data.draw(st.sampled_from(events))
    without = [item for item in events if item is not mistake]
    void = event(99, data.draw(st.integers(0, 900)), Voided(mistake.id, "slip"))

    assert is_legal([*events, void]) is is_legal(without)
    if is_legal(without):
        assert replace(fold(request(), [*events, void]), revision=0) == replace(
            fold(request(), without), revision=0
        )


@given(pathways())
@settings(max_examples=33)
def test_voiding_the_void_equals_never_having_voided(events: tuple[Event, ...]) -> None:
    if not events:
        return
    voids = (
        event(98, 0, Voided(events[-1].id, "slip")),
        event(99, 1, Voided("e98", "it was right")),
    )

    assert replace(fold(request(), [*events, *voids]), revision=0) == replace(
        fold(request(), events), revision=0
    )


@given(pathways())
@settings(max_examples=33)
def test_every_beginning_of_a_legal_log_is_legal(events: tuple[Event, ...]) -> None:
    """So that the board can be looked at as of any instant."""
    assert all(is_legal(events[:place]) for place in range(len(events)))


@given(cases(), MOMENTS)
@settings(max_examples=50)
def test_volume_given_never_decreases_without_a_reading_and_never_exceeds_the_unit(
    unit: Case, moments: list[datetime]
) -> None:
    readings = [item.happened_at for item in unit.events if _is_reading(item)]
    instants = sorted({*moments, *(item.happened_at for item in unit.events)})
    seen = [(look.standing.now, look.infusion) for look in pictures(unit, instants)]
    most = facts_from(unit).episode.volume_ml or float("inf")

    for (earlier, before), (later, after) in pairwise(seen):
        read = any(earlier < reading <= later for reading in readings)
        assert read or after.given_ml >= before.given_ml - 1e-9
    assert all(0 <= infusion.given_ml <= most for _, infusion in seen)


def _is_reading(item: Event) -> bool:
    return getattr(item.payload, "given_ml", None) is not None


@given(cases())
@settings(max_examples=83)
def test_clocks_open_before_they_are_due_and_are_due_before_their_limit(unit: Case) -> None:
    for clock in schedule(facts_from(unit)):
        instants = [at for at in (clock.opens_at, clock.due_at, clock.limit_at) if at is not None]
        assert instants == sorted(instants)


@given(cases())
@settings(max_examples=50)
def test_clocks_of_one_name_are_numbered_from_one(unit: Case) -> None:
    numbers: dict[str, list[int]] = {}
    for clock in schedule(facts_from(unit)):
        numbers.setdefault(clock.name, []).append(clock.n)

    assert all(found == list(range(1, len(found) + 1)) for found in numbers.values())


@given(cases(), MOMENTS)
@settings(max_examples=50)
def test_for_fixed_facts_a_state_only_moves_forward(unit: Case, moments: list[datetime]) -> None:
    instants = sorted(moments)
    for clock in schedule(facts_from(unit)):
        places = [FORWARD[state_at(clock, now)] for now in instants]
        assert places == sorted(places)


@given(st.lists(cases(), min_size=2, max_size=6), st.integers(0, 20_000), st.randoms())
@settings(max_examples=30)
def test_urgency_is_a_total_and_stable_order(
    units: list[Case], second: int, random: Random
) -> None:
    named = [
        replace(unit, request=replace(unit.request, id=f"e{n}", bed=f"Bay {n % 3}"))
        for n, unit in enumerate(units)
    ]
    rows = [picture(unit.known(at=at(0, second)), at(0, second)) for unit in named]
    keys = [row.sort_key for row in rows]
    order = sorted(range(len(keys)), key=keys.__getitem__)

    assert len(set(keys)) == len(keys)
    for a in keys:
        for b in keys:
            assert (a < b) + (b < a) + (a == b) == 1
            assert all(a < c for c in keys if a < b < c)
    shuffled = list(range(len(keys)))
    random.shuffle(shuffled)
    assert sorted(shuffled, key=keys.__getitem__) == order
