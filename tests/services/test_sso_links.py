"""Whose account at a provider is whose here: entered, linked, undone, and found."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import pytest

from server.domain.errors import Invalid
from server.domain.sign_on import LONGEST, Identity, SignOn, SignOnRules
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.sign_in import sign_in
from server.services.sso_links import (
    enter_link,
    link_oneself,
    list_linked,
    read_link,
    staff_of,
    undo_link,
    undo_own_link,
)
from server.store.sessions import WriteSession
from server.store.sign_ins import sessions_of
from server.store.sso import Link
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    PROGRAM,
    W1,
    staff_draft,
)
from tests.services.people import (
    staff_of as staff_made_of,
)
from tests.services.shared_device import noted

ISSUER: Final = "https://provider.example"
SIGN_ON: Final = SignOn(
    ISSUER, "board", "hush", "", "", rules=SignOnRules(claim="preferred_username")
)
NINA: Final = Identity(ISSUER, "s-1", "nina")
OF_WARD_1: Final = Actor("admin-1", "Ann Admin", ADMINISTRATOR.role, W1, staff_id="admin-1")


def enter(
    charting: Charting,
    actor: Actor = ADMINISTRATOR,
    staff_id: str = NURSE.id,
    typed: str = "nina",
    sign_on: SignOn | None = SIGN_ON,
) -> Link:
    """Enter an account."""
    with charting.store.write() as session:
        return enter_link(session, actor, sign_on, staff_id, typed, now=at(5))


def come(charting: Charting, identity: Identity = NINA, minute: float = 9) -> str | None:
    """Who somebody who comes from the provider is here."""
    with charting.store.write() as session:
        staff = staff_of(session, identity, now=at(minute))
    return None if staff is None else staff.id


def kept(charting: Charting, staff_id: str = NURSE.id) -> Link | None:
    """The account that is kept of somebody."""
    with charting.store.read() as session:
        return read_link(session, ADMINISTRATOR, staff_id)


@ON_BOTH_ENGINES
def test_the_first_who_comes_with_an_account_is_the_person_for_good(charting: Charting) -> None:
    """Later it is the provider's own key that counts: a name there can be given to another."""
    entered = enter(charting, typed=" nina ")

    found = [
        come(charting, replace(NINA, account="NINA")),
        come(charting, replace(NINA, issuer="https://other.example")),
        come(charting, minute=9),
        come(charting, replace(NINA, account="nina.married"), minute=10),
        come(charting, replace(NINA, subject="s-2")),
    ]

    linked = replace(entered, subject="s-1", linked_at=at(9))
    assert entered == Link(NURSE.id, ISSUER, "nina", at(5), ADMINISTRATOR.id)
    assert found == [None, None, NURSE.id, NURSE.id, None]
    assert kept(charting) == linked
    assert noted(charting, "account_linked") == [(ADMINISTRATOR.id, "account_linked", NURSE.id)]


def test_where_accounts_are_called_by_their_key_nothing_is_left_to_come(charting: Charting) -> None:
    by_key = replace(SIGN_ON, rules=SignOnRules())

    entered = enter(charting, typed="s-1", sign_on=by_key)

    assert entered.subject == "s-1"
    assert come(charting, replace(NINA, account="s-1")) == NURSE.id


@ON_BOTH_ENGINES
def test_one_links_ones_own_account_in_place_of_the_one_before(charting: Charting) -> None:
    enter(charting, typed="nina.before")

    with charting.store.write() as session:
        linked = link_oneself(session, NURSE, NINA, now=at(7))

    assert linked == Link(NURSE.id, ISSUER, "nina", at(7), NURSE.id, "s-1", at(7))
    assert [come(charting), come(charting, replace(NINA, subject="s-2"))] == [NURSE.id, None]
    with charting.store.read() as session:
        assert read_link(session, NURSE, NURSE.id) == linked
        assert list_linked(session, ADMINISTRATOR, SIGN_ON) == frozenset({NURSE.id})
        assert list_linked(session, CHARGE, SIGN_ON) == frozenset()


@ON_BOTH_ENGINES
def test_whoever_came_by_an_account_is_signed_out_when_another_takes_its_place(
    charting: Charting,
) -> None:
    def sessions() -> int:
        with charting.store.read() as session:
            return len(sessions_of(session, NURSE.id, at(8)))

    enter(charting, typed="olga")
    with charting.store.write() as session:
        here, _ = (sign_in(session, staff_made_of(NURSE), now=at(6)).actor for _ in range(2))
    enter(charting, typed="otto")  # nobody had come with the first
    before = sessions()
    come(charting, replace(NINA, subject="s-9", account="otto"), minute=7)
    with charting.store.write() as session:
        link_oneself(session, here, NINA, now=at(8))
        link_oneself(session, here, replace(NINA, account="nina.married"), now=at(8))
    own = sessions()
    enter(charting, typed="nina.2")

    assert (before, own, sessions()) == (2, 1, 0)


def test_an_account_of_somebody_else_is_not_taken(charting: Charting) -> None:
    with charting.store.write() as session:
        link_oneself(session, NURSE, NINA, now=at(7))

    with pytest.raises(Conflict, match="linked to somebody else"):
        enter(charting, staff_id=COLLEAGUE.id)
    with pytest.raises(Conflict), charting.store.write() as session:
        link_oneself(session, COLLEAGUE, replace(NINA, account="nina.2"), now=at(8))
    assert kept(charting, COLLEAGUE.id) is None


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, PROGRAM], ids=lambda one: one.id)
def test_only_administrators_link_others(charting: Charting, actor: Actor) -> None:
    enter(charting, staff_id=COLLEAGUE.id)
    acts: list[Callable[[WriteSession], object]] = [
        lambda session: enter_link(session, actor, SIGN_ON, COLLEAGUE.id, "x", now=at(6)),
        lambda session: undo_link(session, actor, COLLEAGUE.id, now=at(6)),
        lambda session: read_link(session, actor, COLLEAGUE.id),
    ]

    for act in acts:
        with pytest.raises(Forbidden), charting.store.write() as session:
            act(session)


def test_an_administrator_of_one_ward_links_nobody_who_may_open_another(charting: Charting) -> None:
    with pytest.raises(Forbidden, match="not all of these wards are yours"):
        enter(charting, OF_WARD_1, staff_id=ADMINISTRATOR.id)

    assert enter(charting, OF_WARD_1).entered_by == OF_WARD_1.id


@pytest.mark.parametrize(
    ("typed", "why"), [("", "expected what"), ("a\nb", "expected what"), ("x" * 201, "too long")]
)
def test_an_account_without_a_name_is_refused_by_its_field(
    charting: Charting, typed: str, why: str
) -> None:
    assert len(typed) in (0, 3, LONGEST + 1)
    with pytest.raises(Invalid, match=why) as refused:
        enter(charting, typed=typed)

    assert refused.value.field == "account"


def test_without_a_provider_there_is_nothing_to_link(charting: Charting) -> None:
    with pytest.raises(NotFound, match="single sign-on"):
        enter(charting, sign_on=None)


@ON_BOTH_ENGINES
def test_an_undone_link_opens_nothing_and_ends_what_it_opened(charting: Charting) -> None:
    enter(charting)
    with charting.store.write() as session:
        sign_in(session, staff_made_of(NURSE), now=at(6))
        undo_link(session, ADMINISTRATOR, NURSE.id, now=at(7))

    with charting.store.read() as session:
        assert sessions_of(session, NURSE.id, at(7)) == ()
    assert come(charting) is None
    assert noted(charting, "link_undone") == [(ADMINISTRATOR.id, "link_undone", NURSE.id)]
    with pytest.raises(NotFound), charting.store.write() as session:
        undo_link(session, ADMINISTRATOR, NURSE.id, now=at(8))


def test_one_undoes_ones_own_link_and_stays_where_one_is(charting: Charting) -> None:
    with charting.store.write() as session:
        here, _ = (sign_in(session, staff_made_of(NURSE), now=at(6)).actor for _ in range(2))
        link_oneself(session, here, NINA, now=at(7))
        undo_own_link(session, here, now=at(8))
        left = sessions_of(session, NURSE.id, at(8))

    assert ([one.id for one in left], come(charting)) == ([here.access_id], None)


@ON_BOTH_ENGINES
def test_who_leaves_is_let_in_by_no_account_and_not_when_they_return(charting: Charting) -> None:
    enter(charting)
    with charting.store.write() as session:
        for active in (False, True):
            draft = replace(staff_draft(NURSE), active=active)
            enter_staff(session, ADMINISTRATOR, draft, now=at(6))

    assert (come(charting), kept(charting)) == (None, None)
