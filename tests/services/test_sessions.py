"""A session locks when nothing is done, opens again for its own person, and can be ended."""

from datetime import timedelta

import pytest

from server.services.actor import Actor
from server.services.end_sessions import (
    end_other_sessions,
    end_own_session,
    end_sessions_of,
    list_own_sessions,
    list_sessions_of,
)
from server.services.errors import Forbidden, NotFound
from server.services.lock_session import is_worth_noting, lock, note_act, unlock
from server.services.sign_in import NOTED_EVERY
from tests.domain.builders import around, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    NURSE,
    OUTSIDE_CHARGE,
    PROGRAM,
    staff_of,
)
from tests.services.shared_device import holder, noted, signed_in

TEN = timedelta(minutes=10)


@ON_BOTH_ENGINES
def test_an_idle_session_locks_and_an_act_puts_it_off(charting: Charting) -> None:
    secret = signed_in(charting, staff_of(NURSE))
    locks_at = at(0) + TEN + NOTED_EVERY

    found = [holder(charting, secret, now, lock_after=TEN) for now in around(locks_at)]
    never = holder(charting, secret, locks_at)
    with charting.store.write() as session:
        note_act(session, secret, now=at(5))
    later = holder(charting, secret, locks_at, lock_after=TEN)

    assert [one and (one.locks_at, one.locked) for one in found] == [
        (locks_at, False),
        (locks_at, True),
        (locks_at, True),
    ]
    assert never is not None
    assert later is not None
    assert (never.locked, later.locked) == (False, False)


def test_an_act_is_kept_once_a_minute_and_not_behind_a_lock(charting: Charting) -> None:
    secret = signed_in(charting, staff_of(NURSE))
    found = holder(charting, secret, at(0))
    assert found is not None
    with charting.store.write() as session:
        lock(session, secret, now=at(0))
    locked = holder(charting, secret, at(0))
    assert locked is not None

    assert [is_worth_noting(found, now=now) for now in around(at(1))] == [False, True, True]
    assert not is_worth_noting(locked, now=at(5))


@ON_BOTH_ENGINES
def test_a_lock_is_opened_under_another_secret(charting: Charting) -> None:
    secret = signed_in(charting, staff_of(NURSE))
    with charting.store.write() as session:
        for minute in (1, 2):
            lock(session, secret, now=at(minute))
        lock(session, "guessed", now=at(2))
    locked = holder(charting, secret, at(3))
    with charting.store.write() as session:
        renewed = unlock(session, secret, now=at(3))
        gone = unlock(session, secret, now=at(3))
        again = unlock(session, renewed or "", now=at(4))

    assert locked is not None
    assert (locked.actor, locked.locked, locked.session.locked_at) == (NURSE, True, at(1))
    assert (gone, secret in (renewed, again), renewed == again) == (None, False, False)
    opened = holder(charting, again or "", at(5))
    assert opened is not None
    assert (opened.locked, opened.session.seen_at) == (False, at(4))
    assert [holder(charting, one or "", at(5)) for one in (secret, renewed)] == [None, None]
    assert noted(charting, "locked", "unlocked") == [
        ("nurse-1", "locked", None),
        ("nurse-1", "unlocked", None),
    ]


def test_one_ends_ones_own_sessions_and_no_others(charting: Charting) -> None:
    desk, phone = (
        signed_in(charting, staff_of(NURSE), minute, device)
        for minute, device in ((0, "desk"), (1, "phone"))
    )
    theirs = signed_in(charting, staff_of(COLLEAGUE))
    here, other = (holder(charting, secret, at(2)) for secret in (desk, theirs))
    assert here is not None
    assert other is not None
    with charting.store.write() as session:
        listed = list_own_sessions(session, here.actor, now=at(2))
        with pytest.raises(NotFound, match="the session was not found"):
            end_own_session(session, here.actor, other.session.id, now=at(2))
        end_own_session(session, here.actor, listed[0].id, now=at(2))
        signed_in_again = [one.device for one in list_own_sessions(session, NURSE, now=at(2))]
    signed_in(charting, staff_of(NURSE), 3, "tablet")
    with charting.store.write() as session:
        ended = end_other_sessions(session, here.actor, now=at(4))

    assert [one.device for one in listed] == ["phone", "desk"]
    assert (signed_in_again, ended) == (["desk"], 1)
    after = [holder(charting, secret, at(5)) for secret in (desk, phone, theirs)]
    assert [one is not None for one in after] == [True, False, True]
    assert noted(charting, "session_ended") == [
        ("nurse-1", "session_ended", listed[0].id),
        ("nurse-1", "session_ended", None),
    ]


def test_an_administrator_signs_somebody_out_everywhere(charting: Charting) -> None:
    secrets = [signed_in(charting, staff_of(NURSE), minute) for minute in (0, 1)]
    theirs = signed_in(charting, staff_of(COLLEAGUE))
    with charting.store.write() as session:
        listed = list_sessions_of(session, ADMINISTRATOR, NURSE.id, now=at(2))
        ended = end_sessions_of(session, ADMINISTRATOR, NURSE.id, now=at(2))

    assert (len(listed), ended) == (2, 2)
    holders = [holder(charting, secret, at(3)) for secret in (*secrets, theirs)]
    assert [one is not None for one in holders] == [False, False, True]
    assert noted(charting, "session_ended") == [("admin", "session_ended", NURSE.id)]


@pytest.mark.parametrize("actor", [NURSE, CHARGE, OUTSIDE_CHARGE, PROGRAM], ids=lambda one: one.id)
def test_nobody_else_lists_or_ends_the_sessions_of_others(charting: Charting, actor: Actor) -> None:
    signed_in(charting, staff_of(COLLEAGUE))
    before = charting.everything()

    with charting.store.write() as session:
        with pytest.raises(Forbidden):
            list_sessions_of(session, actor, COLLEAGUE.id, now=at(1))
        with pytest.raises(Forbidden):
            end_sessions_of(session, actor, COLLEAGUE.id, now=at(1))

    assert charting.everything() == before
