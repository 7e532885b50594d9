"""Open streams take from memory that their reader may stay, and for a few seconds only."""

from datetime import timedelta

from server.pages.signed_in import SignedIn
from server.services.lock_session import lock
from server.services.sign_in import sign_out
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import CHARGE, MANAGER, NURSE

SECOND = timedelta(seconds=1)


def test_a_stream_asks_memory_as_long_as_somebody_looked_lately(hospital: Hospital) -> None:
    known, secret = SignedIn(), hospital.secret_of(NURSE)
    assert known.watching(secret, at(1)) is None
    looked_up = known.look_up(hospital.app, secret, at(1))

    assert looked_up is not None
    assert known.watching(secret, at(1) + 6 * SECOND) == looked_up
    assert known.watching(secret, at(1) + 7 * SECOND) is None

    known.see_again(hospital.app, at(1) + 7 * SECOND)
    assert known.watching(secret, at(1) + 7 * SECOND) == looked_up


def test_a_session_locked_or_ended_elsewhere_is_watched_no_more(hospital: Hospital) -> None:
    known = SignedIn()
    people = (NURSE, CHARGE, MANAGER)
    stays, locked, ended = (hospital.secret_of(one) for one in people)
    for secret in (stays, locked, ended):
        known.look_up(hospital.app, secret, at(1))
    with hospital.store.write() as session:
        lock(session, locked, now=at(1))
        sign_out(session, ended, now=at(1))

    known.see_again(hospital.app, at(1) + 4 * SECOND)

    then = at(1) + 5 * SECOND
    left = [known.watching(secret, then) is not None for secret in (stays, locked, ended)]
    assert left == [True, False, False]


def test_a_screen_that_nobody_touches_is_watched_until_its_own_second(shared: Hospital) -> None:
    known, secret = SignedIn(), shared.secret_of(NURSE)
    held = known.look_up(shared.app, secret, at(0))
    assert held is not None
    assert held.locks_at is not None

    for before_the_lock in (held.locks_at - 2 * SECOND, held.locks_at - SECOND):
        known.look_up(shared.app, secret, before_the_lock)
    assert known.watching(secret, held.locks_at - SECOND) is not None
    assert known.watching(secret, held.locks_at) is None


def test_who_is_watched_stays_known_and_who_is_not_is_forgotten(hospital: Hospital) -> None:
    known = SignedIn()
    watched, gone = (hospital.secret_of(one) for one in (NURSE, CHARGE))
    for secret in (watched, gone):
        known.look_up(hospital.app, secret, at(1))

    for minute in range(2, 18):
        known.see_again(hospital.app, at(minute))
        known.watching(watched, at(minute))

    assert [known.watching(one, at(17)) is not None for one in (watched, gone)] == [True, False]
