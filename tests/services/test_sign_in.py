"""Signing in by name and password, staying signed in by a secret, for so long."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.services import lock_session
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.passwords import hash_password, password_fits
from server.services.sign_in import (
    SESSION_LENGTH,
    SignedIn,
    change_person,
    check_password,
    closed_among,
    holders_of_sessions,
    sign_in,
    sign_out,
)
from server.store.staff import Staff
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    NURSE,
    staff_draft,
    staff_of,
)
from tests.services.shared_device import holder, noted

SECOND = timedelta(seconds=1)


@pytest.fixture
def nina(charting: Charting) -> Staff:
    """Nina signs in as `nina`; Carl has a name and no password."""
    with charting.store.write() as session:
        carl = replace(staff_draft(CHARGE), sign_in_name="carl")
        enter_staff(session, ADMINISTRATOR, carl, now=at(0))
        draft = replace(staff_draft(NURSE), sign_in_name="nina", password="correct horse")
        return enter_staff(session, ADMINISTRATOR, draft, now=at(0))


def _sign_in(charting: Charting, staff: Staff, minute: float = 0) -> SignedIn:
    with charting.store.write() as session:
        return sign_in(session, staff, now=at(minute), device="Chrome on Windows")


def _holder(charting: Charting, secret: str, minute: float = 1) -> Actor | None:
    found = holder(charting, secret, at(minute))
    return None if found is None else found.actor


@pytest.mark.parametrize(
    ("name", "password"),
    [
        ("nina", "correct horsf"),
        ("nina", ""),
        ("Nina", "correct horse"),
        ("nobody", "correct horse"),
        ("carl", ""),
        ("carl", "correct horse"),
    ],
)
@pytest.mark.usefixtures("nina")
def test_nothing_else_fits(charting: Charting, name: str, password: str) -> None:
    with charting.store.read() as session:
        assert check_password(session, name, password) is None


@ON_BOTH_ENGINES
def test_the_name_and_its_password_fit(charting: Charting, nina: Staff) -> None:
    with charting.store.read() as session:
        assert check_password(session, "nina", "correct horse") == nina


@pytest.mark.usefixtures("nina")
def test_who_has_left_does_not_sign_in(charting: Charting) -> None:
    with charting.store.write() as session:
        draft = replace(staff_draft(NURSE), sign_in_name="nina", active=False)
        enter_staff(session, ADMINISTRATOR, draft, now=at(0))

    with charting.store.read() as session:
        assert check_password(session, "nina", "correct horse") is None


@ON_BOTH_ENGINES
def test_a_session_is_its_secret_until_it_ends(charting: Charting, nina: Staff) -> None:
    signed = _sign_in(charting, nina)
    ends = at(0) + SESSION_LENGTH

    assert signed == SignedIn(signed.secret, NURSE, ends)
    found = holder(charting, signed.secret, ends - SECOND)
    assert found is not None
    assert (found.actor, found.session.device, found.locks_at, found.locked) == (
        NURSE,
        "Chrome on Windows",
        None,
        False,
    )
    assert holder(charting, signed.secret, ends) is None
    assert _holder(charting, "guessed") is None
    assert signed.secret not in repr(charting.everything())


def test_many_sessions_are_looked_up_at_once_as_each_is_alone(
    charting: Charting, nina: Staff
) -> None:
    opened, locked, left = (_sign_in(charting, nina).secret for _ in range(3))
    over = _sign_in(charting, nina, minute=-13 * 60).secret
    with charting.store.write() as session:
        lock_session.lock(session, locked, now=at(1))
        sign_out(session, left, now=at(1))
    secrets, idle = (opened, locked, left, over, "nobody's"), timedelta(minutes=10)

    for minute in (1, 12):
        with charting.store.read() as session:
            many = holders_of_sessions(session, secrets, now=at(minute), lock_after=idle)
        alone = {one: holder(charting, one, at(minute), lock_after=idle) for one in secrets}
        assert many == {one: found for one, found in alone.items() if found is not None}
        assert {one: held.locked for one, held in many.items()} == {
            opened: minute == 12,
            locked: True,
        }


@ON_BOTH_ENGINES
def test_which_sessions_were_closed_is_one_question(charting: Charting, nina: Staff) -> None:
    carl = staff_of(CHARGE)
    opened, locked, left = (_sign_in(charting, nina).secret for _ in range(3))
    moved = _sign_in(charting, carl).secret
    with charting.store.write() as session:
        lock_session.lock(session, locked, now=at(1))
        sign_out(session, left, now=at(1))
        on_another = replace(staff_draft(CHARGE), wards=frozenset({"w2"}))
        enter_staff(session, ADMINISTRATOR, on_another, now=at(1))

    with charting.store.read() as session:
        closed = closed_among(session, (opened, locked, left, moved, "nobody's"))

    assert closed == (locked, left, moved, "nobody's")


def test_two_sessions_have_two_secrets_and_end_apart(charting: Charting, nina: Staff) -> None:
    one, other = _sign_in(charting, nina), _sign_in(charting, nina)

    with charting.store.write() as session:
        sign_out(session, one.secret, now=at(0))
        sign_out(session, one.secret, now=at(0))

    assert one.secret != other.secret
    assert [_holder(charting, signed.secret) for signed in (one, other)] == [None, NURSE]


def test_signing_in_forgets_sessions_that_are_over(charting: Charting, nina: Staff) -> None:
    _sign_in(charting, nina)

    _sign_in(charting, nina, 14 * 60)

    assert len(charting.everything()["session"]) == 1


def test_another_person_takes_a_device_over(charting: Charting, nina: Staff) -> None:
    left = _sign_in(charting, staff_of(COLLEAGUE))
    with charting.store.write() as session:
        taken = change_person(session, left.secret, nina, now=at(1), device="desk")
        plain = change_person(session, "", nina, now=at(2))
        over = change_person(session, left.secret, nina, now=at(3))

    holders = [_holder(charting, one.secret, 4) for one in (left, taken, plain, over)]
    assert holders == [None, NURSE, NURSE, NURSE]
    assert noted(charting, "signed_in", "person_changed") == [
        ("nurse-2", "signed_in", None),
        ("nurse-1", "person_changed", "nurse-2"),
        ("nurse-1", "signed_in", None),
        ("nurse-1", "signed_in", None),
    ]


def test_what_somebody_may_is_what_they_may_now(charting: Charting, nina: Staff) -> None:
    before = _sign_in(charting, nina)
    with charting.store.write() as session:
        moved = replace(staff_draft(NURSE), sign_in_name="nina", wards=frozenset({"w2"}))
        enter_staff(session, ADMINISTRATOR, moved, now=at(0))

    after = _sign_in(charting, replace(nina, wards=frozenset({"w2"})))
    assert _holder(charting, before.secret) is None
    assert _holder(charting, after.secret) == replace(NURSE, wards=frozenset({"w2"}))


def test_a_password_is_kept_as_something_else_each_time() -> None:
    one, other = hash_password("correct horse"), hash_password("correct horse")

    assert one != other
    assert [password_fits(kept, "correct horse") for kept in (one, other, None, "broken")] == [
        True,
        True,
        False,
        False,
    ]


def test_staff_of_the_fixture_are_those_of_the_ward(nina: Staff) -> None:
    assert nina == replace(staff_of(NURSE), sign_in_name="nina")
