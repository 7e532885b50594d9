"""Tokens, sessions and wall links open what they were made for, as long as they should."""

import pytest

from server.domain.words import Role
from server.store.errors import Clash
from server.store.sign_ins import (
    close_session,
    close_sessions_of,
    extend_session,
    forget_expired_sessions,
    open_session,
    signed_in,
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
CAS = Staff("n2", "Cas", Role.CHARGE_NURSE, None)


@pytest.fixture(autouse=True)
def _people(store: Store, ward: Ward) -> None:
    with store.write() as session:
        for token in (ALL_WARDS, ONE_WARD, NO_WARD):
            add_token(session, token, f"hash of {token.id}")
        for member in (NIA, CAS):
            save_staff(session, member)
            for place in ("desk", "phone"):
                known = f"{member.id} {place}"
                open_session(session, known, member.id, at=at(0), expires_at=at(60))
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
        found = [signed_in(session, "n1 desk", instant) for instant in around(at(60))]
        unknown = signed_in(session, "n9 desk", at(0))

    assert (found, unknown) == (["n1", None, None], None)


def test_a_session_can_be_extended(store: Store) -> None:
    with store.write() as session:
        extend_session(session, "n1 desk", at(90))

    assert _signed_in(store, 89) == ["n1 desk"]


def test_signing_out_closes_one_session(store: Store) -> None:
    with store.write() as session:
        close_session(session, "n1 desk")

    assert _signed_in(store, 0) == ["n1 phone", "n2 desk", "n2 phone"]


def test_signing_out_everywhere_closes_all_of_a_person(store: Store) -> None:
    with store.write() as session:
        close_sessions_of(session, "n1")

    assert _signed_in(store, 0) == ["n2 desk", "n2 phone"]


def test_who_is_no_longer_active_is_signed_out(store: Store) -> None:
    with store.write() as session:
        save_staff(session, Staff("n1", "Nia", NIA.role, NIA.wards, active=False))

    assert _signed_in(store, 0) == ["n2 desk", "n2 phone"]


def test_expired_sessions_are_forgotten_and_no_others(store: Store) -> None:
    with store.write() as session:
        extend_session(session, "n1 desk", at(90))
        forget_expired_sessions(session, at(60))
        open_session(session, "n1 phone", "n1", at=at(60), expires_at=at(70))

    assert _signed_in(store, 0) == ["n1 desk", "n1 phone"]


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


def _signed_in(store: Store, minute: int) -> list[str]:
    names = [f"{who} {place}" for who in ("n1", "n2") for place in ("desk", "phone")]
    with store.read() as session:
        return [name for name in names if signed_in(session, name, at(minute))]
