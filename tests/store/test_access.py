"""Tokens, sessions and wall links open what they were made for, as long as they should."""

from dataclasses import replace

import pytest

from server.domain.words import Role
from server.store.errors import Clash
from server.store.sign_ins import (
    OpenSession,
    close_session,
    close_session_named,
    close_sessions_of,
    forget_expired_sessions,
    lock_session,
    note_seen,
    open_session,
    renew_session,
    session_of_hash,
    sessions_of,
)
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.tokens import Token, add_token, list_tokens, revoke_token, token_of_hash
from server.store.wall_links import (
    WallLink,
    add_wall_link,
    revoke_wall_link,
    wall_links_of,
    ward_of_wall_link,
)
from server.store.wards import Ward
from tests.domain.builders import around, at

ALL_WARDS = Token("t1", "laboratory", Role.INTERFACE, None, at(0))
ONE_WARD = Token("t2", "Cas", Role.CHARGE_NURSE, frozenset({"w1"}), at(1))
NO_WARD = Token("t3", "set-up", Role.ADMINISTRATOR, frozenset(), at(2))
NIA = Staff("n1", "Nia", Role.BEDSIDE_NURSE, frozenset({"w1"}))
N2 = ["n2 desk", "n2 phone"]
CAS = Staff("n2", "Cas", Role.CHARGE_NURSE, None)


@pytest.fixture(autouse=True)
def _people(store: Store, ward: Ward) -> None:
    with store.write() as session:
        for token in (ALL_WARDS, ONE_WARD, NO_WARD):
            add_token(session, token, f"hash of {token.id}")
        for member in (NIA, CAS):
            save_staff(session, member)
            for place in ("desk", "phone"):
                open_session(session, _opened(member.id, place), f"{member.id} {place}")
        add_wall_link(session, WallLink("l1", ward.id, at(0)), "hash of l1")


def test_a_token_is_found_by_its_hash_alone(store: Store) -> None:
    with store.read() as session:
        found = [token_of_hash(session, f"hash of t{n}") for n in range(1, 5)]

    assert found == [ALL_WARDS, ONE_WARD, NO_WARD, None]


def test_a_token_is_revoked_once_and_still_listed(store: Store) -> None:
    with store.write() as session:
        revoked = [revoke_token(session, "t2", at(9)), revoke_token(session, "t2", at(10))]

    with store.read() as session:
        found, listed = token_of_hash(session, "hash of t2"), list_tokens(session)
    gone = Token("t2", "Cas", Role.CHARGE_NURSE, frozenset({"w1"}), at(1), at(9))
    assert (revoked, found, listed) == ([True, False], None, (NO_WARD, gone, ALL_WARDS))


def test_two_tokens_never_share_a_hash(store: Store) -> None:
    with pytest.raises(Clash, match="hash"), store.write() as session:
        add_token(session, Token("t9", "copy", Role.MANAGER, None, at(0)), "hash of t1")


def test_a_session_lasts_until_it_expires(store: Store) -> None:
    with store.read() as session:
        found = [session_of_hash(session, "n1 desk", instant) for instant in around(at(60))]
        unknown = session_of_hash(session, "n9 desk", at(0))

    assert (found, unknown) == ([_opened("n1", "desk"), None, None], None)


def test_the_sessions_of_a_person_are_listed_by_their_last_act(store: Store) -> None:
    with store.write() as session:
        note_seen(session, "n1 phone", at(9))

    with store.read() as session:
        listed = sessions_of(session, "n1", at(10))
    phone = replace(_opened("n1", "phone"), seen_at=at(9))
    assert listed == (phone, _opened("n1", "desk"))


def test_a_session_is_locked_once_and_renewed_under_another_secret(store: Store) -> None:
    with store.write() as session:
        locked = [lock_session(session, "n1 desk", at(minute)) for minute in (5, 6)]
        found = session_of_hash(session, "n1 desk", at(6))
        renew_session(session, "n1 desk", "n1 again", at(7))

    with store.read() as session:
        after = [session_of_hash(session, name, at(8)) for name in ("n1 desk", "n1 again")]
    assert locked == [True, False]
    assert found == replace(_opened("n1", "desk"), locked_at=at(5))
    assert after == [None, replace(_opened("n1", "desk"), seen_at=at(7))]


def test_a_session_is_ended_by_its_own_person_only(store: Store) -> None:
    with store.write() as session:
        ended = [close_session_named(session, who, "n1-desk") for who in ("n2", "n1", "n1")]

    assert (ended, _signed_in(store, 0)) == ([False, True, False], ["n1 phone", *N2])


def test_signing_out_closes_one_session(store: Store) -> None:
    with store.write() as session:
        close_session(session, "n1 desk")

    assert _signed_in(store, 0) == ["n1 phone", "n2 desk", "n2 phone"]


def test_signing_out_everywhere_closes_all_of_a_person(store: Store) -> None:
    with store.write() as session:
        others = close_sessions_of(session, "n1", but="n1-desk")
        rest = close_sessions_of(session, "n1")

    assert (others, rest, _signed_in(store, 0)) == (1, 1, N2)


def test_who_is_no_longer_active_is_signed_out(store: Store) -> None:
    with store.write() as session:
        save_staff(session, Staff("n1", "Nia", NIA.role, NIA.wards, active=False))

    assert _signed_in(store, 0) == ["n2 desk", "n2 phone"]


def test_expired_sessions_are_forgotten_and_no_others(store: Store) -> None:
    later = replace(_opened("n1", "tablet"), expires_at=at(70))
    with store.write() as session:
        open_session(session, later, "n1 tablet")
        forget_expired_sessions(session, at(60))
        open_session(session, replace(_opened("n1", "desk"), expires_at=at(70)), "n1 desk")

    assert _signed_in(store, 0) == ["n1 desk"]
    with store.read() as session:
        assert [one.id for one in sessions_of(session, "n1", at(0))] == ["n1-desk", "n1-tablet"]


def test_a_wall_link_opens_its_ward_until_it_is_revoked(store: Store) -> None:
    with store.write() as session:
        before = ward_of_wall_link(session, "hash of l1")
        revoked = [revoke_wall_link(session, "l1", at(9)), revoke_wall_link(session, "l1", at(10))]
        add_wall_link(session, WallLink("l2", "w1", at(10)), "hash of l2")

    with store.read() as session:
        opened = [ward_of_wall_link(session, f"hash of l{n}") for n in (1, 2, 3)]
        listed = wall_links_of(session, "w1")
    assert (before, revoked, opened) == ("w1", [True, False], [None, "w1", None])
    assert listed == (WallLink("l2", "w1", at(10)), WallLink("l1", "w1", at(0), at(9)))


def _opened(staff_id: str, place: str) -> OpenSession:
    return OpenSession(f"{staff_id}-{place}", staff_id, place, at(0), at(0), at(60))


def _signed_in(store: Store, minute: int) -> list[str]:
    names = [f"{who} {place}" for who in ("n1", "n2") for place in ("desk", "phone")]
    with store.read() as session:
        return [name for name in names if session_of_hash(session, name, at(minute))]
