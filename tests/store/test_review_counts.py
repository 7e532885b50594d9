"""What a review counts in the database is what loops over the same rows come to, without SQL."""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from math import ceil

import pytest

from server.domain.review.counted import Begun, Fated, Late, PlaceWaited, Until, Waited
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, ClockState, Component, Priority
from server.store.review_limits import lateness_of, tallies_of
from server.store.review_nights import starts_of, tallies_at_night
from server.store.review_units import (
    fates_of,
    reassessments_of,
    waits_by_place,
    waits_of,
)
from server.store.states import EpisodeState
from server.store.store import Store
from tests.store.facts import counted_queries
from tests.store.review_rows import NIGHTS, NOW, ZONES, Rows, make_rows

ANY = [None, Component.RED_CELLS, Component.GRANULOCYTES]
MINUTE = timedelta(minutes=1)
Tuples = Counter[tuple[object, ...]]


@pytest.fixture
def rows(store: Store) -> Rows:
    """Random derived rows of three wards."""
    return make_rows(store)


@pytest.mark.parametrize("component", ANY)
def test_limits_are_counted_by_ward_place_and_clock(
    store: Store, rows: Rows, component: Component | None
) -> None:
    counted: Counter[tuple[str, int, ClockName, str]] = Counter()
    late: Counter[tuple[ClockName, int]] = Counter()
    for one in rows.clocks:
        stretch = rows.stretch_of(one.ward_id, one.limit_at)
        outcome = OUTCOME.get(one.state)
        if stretch is None or outcome is None or component not in (None, one.component):
            continue
        counted[one.ward_id, stretch.place, one.clock, outcome] += 1
        if outcome == "late" and one.met_at and one.limit_at:
            late[one.clock, ceil((one.met_at - one.limit_at) / MINUTE)] += 1

    with store.read() as session:
        tallies = tallies_of(session, rows.stretches, component)
        lateness = lateness_of(session, rows.stretches, component)

    found = {
        (*place, clock): tally
        for place, theirs in tallies.items()
        for clock, tally in theirs.items()
        if tally.owed
    }
    places = {key[:3] for key in counted}
    assert found == {
        key: Tally(*(counted[(*key, name)] for name in ("met", "late", "missed"))) for key in places
    }
    assert _summed(lateness) == late
    assert bool(places) is bool(late) is (component is not Component.GRANULOCYTES)


OUTCOME = {
    ClockState.MET: "met",
    ClockState.MET_LATE: "late",
    ClockState.MISSED: "missed",
    ClockState.OVERDUE: "missed",
}


@pytest.mark.parametrize("component", ANY)
@pytest.mark.parametrize("until", Until)
def test_waits_are_counted_from_the_issue_with_those_that_are_not_over(
    store: Store, rows: Rows, until: Until, component: Component | None
) -> None:
    waited: Tuples = Counter()
    by_place: Tuples = Counter()
    for one, stretch in _in_stretches(rows, "issued_at", component):
        reached = one.started_at if until is Until.START else one.ended_at
        left = one.fate_at if one.started_at is None else None
        assert one.issued_at is not None
        minutes = ceil(((reached or left or NOW) - one.issued_at) / MINUTE)
        hour = one.issued_at.astimezone(ZONES[one.ward_id]).hour
        waited[one.component, hour, minutes, reached is not None] += 1
        by_place[stretch.place, minutes, reached is not None] += 1

    with store.read() as session:
        of_units, of_places = (
            count(session, rows.stretches, until, now=NOW, component=component)
            for count in (waits_of, waits_by_place)
        )

    assert (_summed(of_units), _summed(of_places)) == (waited, by_place)
    assert {one.happened for one in of_units} == ({True, False} if waited else set())


@pytest.mark.parametrize("component", ANY)
def test_starts_are_counted_by_day_and_in_each_wards_night(
    store: Store, rows: Rows, component: Component | None
) -> None:
    begun: Tuples = Counter()
    for one, stretch in _in_stretches(rows, "started_at", component):
        begun[stretch.place, one.priority is Priority.ROUTINE, _is_night(one)] += 1

    with store.read() as session:
        found: tuple[Begun, ...] = starts_of(session, rows.stretches, NIGHTS, component)

    assert _summed(found) == begun


@pytest.mark.parametrize("component", ANY)
def test_limits_of_units_that_were_started_at_night_are_counted_apart(
    store: Store, rows: Rows, component: Component | None
) -> None:
    wanted = (ClockName.FINISH, ClockName.END_CHECK)
    nightly = {
        one.episode_id for one, _ in _in_stretches(rows, "started_at", component) if _is_night(one)
    }
    counted: dict[ClockName, Tally] = {}
    for one in rows.clocks:
        is_asked = one.clock in wanted and one.n == 1 and one.state in OUTCOME
        if one.episode_id in nightly and is_asked:
            tally = Tally(**{OUTCOME[one.state]: 1})
            counted[one.clock] = counted.get(one.clock, Tally()) + tally

    with store.read() as session:
        found = tallies_at_night(session, rows.stretches, NIGHTS, wanted, component)

    assert found == counted
    assert bool(found) is (component is not Component.GRANULOCYTES)


def _is_night(one: EpisodeState) -> bool:
    assert one.started_at is not None
    shown = one.started_at.astimezone(ZONES[one.ward_id])
    minute, night = shown.hour * 60 + shown.minute, NIGHTS[one.ward_id]
    if night.from_minute < night.until_minute:
        return minute in range(night.from_minute, night.until_minute)
    return minute not in range(night.until_minute, night.from_minute)


@pytest.mark.parametrize("component", ANY)
def test_fates_are_counted_of_what_was_issued(
    store: Store, rows: Rows, component: Component | None
) -> None:
    fated: Tuples = Counter()
    for one, _ in _in_stretches(rows, "issued_at", component):
        fated[one.fate, one.started_at is not None] += 1

    with store.read() as session:
        found: tuple[Fated, ...] = fates_of(session, rows.stretches, component)

    assert _summed(found) == fated


def test_a_reassessment_counts_before_the_next_red_cells_of_the_patient(
    store: Store, rows: Rows
) -> None:
    met = late = missed = 0
    for one, _ in _in_stretches(rows, "started_at", Component.RED_CELLS):
        if one.ended_at is None:
            continue
        following = [
            other.started_at
            for other in rows.states
            if (other.patient_id, other.ward_id, other.component)
            == (one.patient_id, one.ward_id, Component.RED_CELLS)
            and other.started_at is not None
            and one.started_at is not None
            and one.started_at < other.started_at
        ]
        done = one.reassessed_at
        met += done is not None and all(done <= start for start in following)
        late += done is not None and any(start < done for start in following)
        missed += done is None

    with store.read() as session:
        found = reassessments_of(session, rows.stretches)

    assert found == Tally(met, late, missed)
    assert min(met, late, missed) > 0


def test_however_many_stretches_a_question_is_one_statement_or_two(
    store: Store, rows: Rows
) -> None:
    with store.read() as session, counted_queries(store) as sent:
        for stretches in (rows.stretches, rows.stretches[:1], ()):
            tallies_of(session, stretches)
            waits_of(session, stretches, Until.START, now=NOW)
        nothing = (
            tallies_of(session, ()),
            waits_of(session, (), Until.START, now=NOW),
            reassessments_of(session, ()),
            tallies_at_night(session, (), {}, [ClockName.FINISH]),
        )

    assert len(sent) == 3 * 3 + 5
    assert nothing == ({}, (), Tally(), {})


def _in_stretches(
    rows: Rows, name: str, component: Component | None
) -> Iterator[tuple[EpisodeState, Stretch]]:
    """The units whose instant of that name lies in a stretch."""
    for one in rows.states:
        at: datetime | None = getattr(one, name)
        stretch = rows.stretch_of(one.ward_id, at)
        if stretch is not None and component in (None, one.component):
            yield one, stretch


def _summed(
    found: Iterable[Waited | PlaceWaited | Begun | Late | Fated],
) -> Tuples:
    """The last field of each counts; like ones of several stretches are taken together."""
    counted: Tuples = Counter()
    for row in found:
        counted[row[:-1]] += row[-1]
    return counted
