"""What was known of a limit as one entry followed another, and when boards showed it as passed."""

from datetime import datetime
from typing import Any

from server.domain.breach_course import Course, course_of
from server.domain.events import Event
from server.domain.payloads import Completed, Issued, Payload, Started, Voided
from server.domain.picture import Case
from server.domain.words import ClockName
from tests.domain.builders import FULL, at, case, event

FIRST = ClockName.FIRST_CHECK


def late(place: int, minute: int, payload: Payload, recorded: int) -> Event:
    return event(place, minute, payload, recorded_at=at(recorded))


def course(given: Case, until: float, name: ClockName = FIRST, n: int = 1) -> Course:
    return course_of(given, name, n, at(until))


def known(found: Course) -> list[tuple[datetime, Any, Any]]:
    return [
        (one.since, one.clock and one.clock.limit_at, one.clock and one.clock.met_at)
        for one in found.known
    ]


ISSUED = (0, Issued())
STARTED = (10, Started(60))


def test_a_check_that_was_charted_late_is_shown_as_passed_until_then() -> None:
    found = course(case(ISSUED, STARTED, late(3, 28, FULL, 52)), 60)

    assert known(found) == [(at(10), at(30), None), (at(52), at(30), at(28))]
    assert (found.first_known_at, found.told_at, found.moved) == (at(10), at(52), ())
    assert found.shown == ((at(30, 1), at(52)),)


def test_what_nobody_has_met_is_shown_until_now() -> None:
    found = course(case(ISSUED, STARTED), 45)

    assert (found.told_at, found.shown) == (None, ((at(30, 1), at(45, 1)),))
    assert course(case(ISSUED, STARTED), 30).shown == ()
    assert course(case(), 30) == Course((), at(30))
    assert course(case(), 30).told_at is None


def test_what_was_missed_is_shown_until_it_could_no_longer_be_met() -> None:
    missed = case(ISSUED, STARTED, (50, Completed(given_ml=30)))

    assert course(missed, 90).shown == ((at(30, 1), at(50)),)


def test_a_baseline_that_was_charted_after_the_start_is_shown_as_missed_until_then() -> None:
    given = case(ISSUED, STARTED, late(3, 5, FULL, 14))

    found = course(given, 60, ClockName.BASELINE_CHECK)

    assert found.shown == ((at(10), at(14)),)
    assert found.told_at == at(14)


def test_a_start_that_was_charted_late_tells_of_its_check_when_it_had_passed() -> None:
    found = course(case(ISSUED, late(2, 10, Started(60), 40)), 45)

    assert known(found) == [(at(40), at(30), None)]
    assert (found.first_known_at, found.shown) == (at(40), ((at(40), at(45, 1)),))


def test_a_correction_moves_a_limit_and_another_takes_an_entry_back() -> None:
    given = case(
        ISSUED,
        STARTED,
        (29, FULL),
        late(4, 33, Voided("e3", "the wrong patient"), 33),
        late(5, 34, Voided("e2", "it ran from twelve minutes past"), 34),
        late(6, 12, Started(60), 35),
    )

    found = course(given, 40)

    assert known(found) == [
        (at(10), at(30), None),
        (at(29), at(30), at(29)),
        (at(33), at(30), None),
        (at(34), None, None),
        (at(35), at(32), None),
    ]
    assert [one.since for one in found.moved] == [at(35)]
    assert found.shown == ((at(33), at(34)), (at(35), at(40, 1)))


def test_stretches_that_touch_are_one() -> None:
    # What was typed at 40 minutes moved the limit by a minute, long after it had passed.
    given = case(
        ISSUED, STARTED, late(3, 11, Voided("e2", "at eleven"), 40), late(4, 11, Started(60), 40)
    )

    assert course(given, 50).shown == ((at(30, 1), at(50, 1)),)
