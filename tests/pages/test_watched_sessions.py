"""Open streams take from memory that their reader may stay, and for a few seconds only."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from server.pages.signed_in import SignedIn
from server.services.lock_session import lock
from server.services.sign_in import sign_out
from server.store.sessions import ReadSession
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

    known.see_again(hospital.app, at(1) + SECOND)

    then = at(1) + 2 * SECOND
    for look in (known.watching, known.remembered):
        assert [look(one, then) is not None for one in (stays, locked, ended)] == [
            True,
            *[False] * 2,
        ]


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


def test_a_clock_put_back_makes_nobody_known_for_longer(hospital: Hospital) -> None:
    known, secret = SignedIn(), hospital.secret_of(NURSE)
    known.look_up(hospital.app, secret, at(61))
    assert known.watching(secret, at(1)) is None
    with hospital.store.write() as session:
        sign_out(session, secret, now=at(1))

    known.see_again(hospital.app, at(1))

    assert known.watching(secret, at(61)) is None


@pytest.mark.parametrize("again", [False, True], ids=["looked up", "seen again"])
@pytest.mark.parametrize("everybody", [False, True], ids=["signed out", "everybody forgotten"])
def test_what_was_read_before_somebody_was_forgotten_is_not_kept_after_it(
    hospital: Hospital, *, again: bool, everybody: bool
) -> None:
    known, secret = SignedIn(), hospital.secret_of(NURSE)
    forget = known.forget_all if everybody else lambda: known.forget(secret)

    @contextmanager
    def read() -> Iterator[ReadSession]:
        with hospital.store.read() as session:
            yield session
        forget()  # whoever ended it did so between this look and what becomes of it

    app: Any = SimpleNamespace(
        state=SimpleNamespace(
            store=SimpleNamespace(read=read), settings=hospital.app.state.settings
        )
    )
    if again:
        known.look_up(hospital.app, secret, at(1))
        known.see_again(app, at(1) + 4 * SECOND)
    else:
        assert known.look_up(app, secret, at(1)) is not None

    then = at(1) + 4 * SECOND
    assert (known.remembered(secret, then), known.watching(secret, then)) == (None, None)
    assert known.find(hospital.app, secret, then) is not None
