"""Accounts at a provider and begun sign-ins are kept as they were given, on each engine."""

from dataclasses import replace

import pytest

from server.domain.words import Role
from server.store.errors import Clash
from server.store.sign_ins import OpenSession, close_session, open_session
from server.store.sso import (
    Begun,
    Browser,
    Link,
    add_begun,
    came_by_provider_at,
    forget_begun,
    forget_link,
    id_token_of,
    keep_id_token,
    link_of_account,
    link_of_subject,
    read_link,
    save_link,
    staff_with_link,
    take_begun,
)
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.vault import Vault, is_sealed
from tests.domain.builders import at

ISSUER = "https://provider.example"
DESK = Browser("desk", "its device")
NINA = Link("n1", ISSUER, "nina", at(0), "admin")


@pytest.fixture(autouse=True)
def _people(store: Store) -> None:
    store.vault = Vault(b"k" * 32)
    with store.write() as session:
        for key in ("n1", "n2"):
            save_staff(session, Staff(key, key, Role.BEDSIDE_NURSE, None))


def test_an_account_is_one_person_s_and_a_person_has_one(store: Store) -> None:
    linked = replace(NINA, account="nina.2", subject="s-1", linked_at=at(3))
    with store.write() as session:
        save_link(session, NINA)
        first = link_of_account(session, ISSUER, "nina")
        save_link(session, linked)

    with store.read() as session:
        found = [
            link_of_account(session, ISSUER, "nina"),
            link_of_account(session, ISSUER, "nina.2"),
            link_of_subject(session, ISSUER, "s-1"),
            link_of_subject(session, "https://other.example", "s-1"),
            read_link(session, "n1"),
            read_link(session, "n2"),
        ]
        whose = [staff_with_link(session, one) for one in (ISSUER, "https://other.example")]
    assert first == NINA
    assert found == [None, linked, linked, None, linked, None]
    assert whose == [frozenset({"n1"}), frozenset()]


@pytest.mark.parametrize(("account", "subject"), [("nina", "s-2"), ("another", "s-1")])
def test_an_account_of_somebody_else_clashes(store: Store, account: str, subject: str) -> None:
    with store.write() as session:
        save_link(session, replace(NINA, subject="s-1"))

    with pytest.raises(Clash), store.write() as session:
        save_link(session, replace(NINA, staff_id="n2", account=account, subject=subject))
    with store.write() as session:
        gone = [forget_link(session, staff_id) for staff_id in ("n1", "n1", "n2")]
        save_link(session, replace(NINA, staff_id="n2"))
    assert gone == [True, False, False]


def test_what_was_begun_is_taken_once_by_its_own_browser(store: Store) -> None:
    begun, other = Begun("/mine", None, at(0)), Begun("/my-sign-in", "n1", at(5))
    with store.write() as session:
        add_begun(session, begun, "state-1", DESK)
        add_begun(session, other, "state-2", Browser("phone", None))
        taken = [
            take_begun(session, *pair)
            for pair in (("state-1", "phone"), ("state-1", "desk"), ("state-1", "desk"))
        ]
        add_begun(session, begun, "state-3", DESK)
        forget_begun(session, at(5))
        kept = [take_begun(session, *pair) for pair in (("state-3", "desk"), ("state-2", "phone"))]

    assert (taken, kept) == ([None, begun, None], [None, other])


def test_the_word_of_a_provider_is_sealed_and_goes_with_its_session(store: Store) -> None:
    with store.write() as session:
        for key in ("a", "b"):
            opened = OpenSession(key, "n1", "desk", at(0), at(0), at(60))
            open_session(session, opened, f"hash-{key}")
        keep_id_token(session, "a", "header.claims.signature")
        kept = session.plain("SELECT id_token FROM sso_session")
        said = [id_token_of(session, f"hash-{key}") for key in "abc"]
        came = [came_by_provider_at(session, key) for key in "ab"]
        close_session(session, "hash-a")
        left = session.plain("SELECT count(*) FROM sso_session")

    assert (is_sealed(kept[0][0]), said) == (True, ["header.claims.signature", "", ""])
    assert (came, left[0][0]) == ([at(0), None], 0)
