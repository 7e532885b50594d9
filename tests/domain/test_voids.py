"""Corrections: a voided event counts as absent, and stays in the log."""

from datetime import timedelta

import pytest

from server.domain.errors import Refused
from server.domain.events import Event, sorted_live, voided_ids
from server.domain.fold import fold
from server.domain.payloads import Completed, Issued, RateSet, Started, Voided
from server.domain.words import ClockName, ClockState, Kind, Phase
from tests.domain.builders import FULL, at, case, event, kinds, request, states, told

FACTS = ((0, Issued()), (10, Started(60)), (30, RateSet(120)))


def test_a_voided_event_counts_as_absent() -> None:
    with_void = told(*FACTS, (40, Voided("e3", "wrong patient")))

    assert sorted_live(with_void) == list(told(*FACTS[:2]))


def test_a_voided_void_leaves_the_event_standing() -> None:
    events = told(
        *FACTS,
        (40, Voided("e3", "wrong patient")),
        (41, Voided("e4", "it was right after all")),
    )

    assert (sorted_live(events), voided_ids(events)) == (list(told(*FACTS)), {"e4"})


def test_a_void_of_a_void_that_was_voided_itself_takes_the_event_away_again() -> None:
    events = told(
        *FACTS,
        (40, Voided("e3", "wrong patient")),
        (41, Voided("e4", "it was right after all")),
        (42, Voided("e5", "no, it was not")),
    )

    assert (sorted_live(events), voided_ids(events)) == (list(told(*FACTS[:2])), {"e3", "e5"})


def test_voiding_the_same_event_twice_is_voiding_it_once() -> None:
    events = told(*FACTS, (40, Voided("e3", "slip")), (41, Voided("e3", "slip")))

    assert kinds(tuple(sorted_live(events))) == [Kind.ISSUED, Kind.STARTED]


def test_a_void_of_nothing_known_changes_nothing() -> None:
    assert sorted_live(told(*FACTS, (40, Voided("e99", "slip")))) == list(told(*FACTS))


def test_voiding_a_start_gives_the_phase_before_it_back() -> None:
    episode = fold(request(), told(*FACTS[:2], (12, Voided("e2", "charted on the wrong bed"))))

    assert (episode.phase, episode.started_at, episode.flow) == (Phase.ISSUED, None, [])


def test_voiding_what_later_events_rest_on_is_refused() -> None:
    with pytest.raises(Refused) as refused:
        fold(request(), told(*FACTS, (40, Voided("e2", "slip"))))

    assert (refused.value.reason, refused.value.phase) == (
        "rate_set at 10:30:00 UTC is not possible: the episode is issued then; expected running",
        Phase.ISSUED,
    )


def test_voiding_the_end_opens_the_finish_clock_again() -> None:
    facts = (*FACTS, (60, Completed()))
    before = case(*facts)
    after = case(*facts, (61, Voided("e4", "still running")))

    assert states(before, ClockName.FINISH, at(70)) == [ClockState.MET]
    assert states(after, ClockName.FINISH, at(70)) == [ClockState.OPEN]


def test_voiding_a_set_of_observations_takes_its_check_away() -> None:
    facts = ((0, Issued()), (10, Started(60)), (25, FULL))

    assert states(case(*facts), ClockName.FIRST_CHECK, at(40)) == [ClockState.MET]
    assert states(
        case(*facts, (35, Voided("e3", "other patient"))), ClockName.FIRST_CHECK, at(40)
    ) == [ClockState.OVERDUE]


def test_the_log_as_known_before_the_correction_still_has_the_mistake() -> None:
    given = case(*FACTS, (40, Voided("e3", "wrong pump")))

    seen = given.known(at=at(35), known_at=at(39)).events
    corrected = given.known(at=at(35)).events

    assert kinds(tuple(sorted_live(seen))) == [Kind.ISSUED, Kind.STARTED, Kind.RATE_SET]
    assert kinds(tuple(sorted_live(corrected))) == [Kind.ISSUED, Kind.STARTED]


def test_events_of_one_second_keep_the_order_they_were_recorded_in() -> None:
    first = event(7, 30, RateSet(80), recorded_at=at(31))
    second = event(8, 30, RateSet(90), recorded_at=at(31))
    earlier = event(9, 30, RateSet(70), recorded_at=at(30, 59))

    assert sorted_live([second, first, earlier]) == [earlier, first, second]
    assert [item.order for item in (earlier, first)] == [
        (at(30), at(30, 59), 9),
        (at(30), at(31), 7),
    ]


@pytest.mark.parametrize(("seconds", "late"), [(899, False), (900, False), (901, True)])
def test_a_late_entry_is_one_recorded_more_than_the_allowed_time_after(
    seconds: int, *, late: bool
) -> None:
    entry: Event = event(1, 0, RateSet(80), recorded_at=at(0, seconds))

    assert entry.is_late_entry(timedelta(minutes=15)) is late
