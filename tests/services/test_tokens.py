"""Tokens are listed and taken back by whoever sets up all of their wards, and say when used."""

import logging
from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.errors import Invalid
from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE, Actor
from server.services.errors import Forbidden, NotFound
from server.services.note_token_uses import ONCE_IN, TokenUses
from server.services.tokens import (
    actor_of_token,
    list_tokens,
    make_token,
    revoke_token,
    token_to_revoke,
)
from server.store.store import Store
from server.store.tokens import Token
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, PROGRAM, W1, W2
from tests.services.trail import NO_SPACE, links, run_plainly

OF_W1 = replace(ADMINISTRATOR, id="admin-1", staff_id="admin-1", wards=W1)


def make(
    store: Store,
    name: str = "Lab",
    wards: frozenset[str] | None = None,
    *,
    by: Actor = ADMINISTRATOR,
    minute: int = 0,
) -> tuple[str, Token]:
    """Make a token for a program; its secret, and what is kept of it."""
    with store.write() as session:
        secret = make_token(session, name, Role.INTERFACE, wards, by=by, now=at(minute))
        actor = actor_of_token(session, secret)
        assert actor is not None
        return secret, token_to_revoke(session, ADMINISTRATOR, actor.id)


def listed(store: Store, actor: Actor = ADMINISTRATOR) -> list[str]:
    """The names in somebody's list."""
    with store.read() as session:
        return [one.name for one in list_tokens(session, actor)]


@ON_BOTH_ENGINES
def test_a_token_is_listed_with_its_maker_and_taken_back_for_good(store: Store) -> None:
    secret, made = make(store, " Lab ", W1)
    _, by_hand = make(store, "Import", by=AT_THE_COMMAND_LINE, minute=1)

    for minute in (2, 3):
        with store.write() as session:
            revoke_token(session, ADMINISTRATOR, made.id, now=at(minute))

    with store.read() as session:
        kept = list_tokens(session, ADMINISTRATOR)
        opened = actor_of_token(session, secret)
    noted = [(one.act, one.subject_id) for one in links(store) if one.subject_id == made.id]
    assert made == Token(made.id, "Lab", Role.INTERFACE, W1, at(0), made_by="admin")
    assert (by_hand.made_by, by_hand.used_at) == ("command-line", None)
    assert kept == (by_hand, replace(made, revoked_at=at(2)))
    assert opened is None
    assert noted == [("token_made", made.id), ("token_revoked", made.id)]


def test_who_sets_up_one_ward_sees_what_is_for_it_and_takes_back_what_is_for_no_other(
    store: Store,
) -> None:
    both = W1 | W2
    names = {"ours": W1, "theirs": W2, "both": both, "all": None, "none": frozenset[str]()}
    made = {name: make(store, name, wards)[1] for name, wards in names.items()}
    before = links(store)

    assert sorted(listed(store, OF_W1)) == ["all", "both", "ours"]
    assert sorted(listed(store)) == sorted(names)
    assert [name for name, one in made.items() if OF_W1.is_on_all(one.wards)] == ["ours", "none"]
    assert all(ADMINISTRATOR.is_on_all(one.wards) for one in made.values())
    for name, refusal in (
        ("theirs", NotFound),
        ("none", NotFound),
        ("both", Forbidden),
        ("all", Forbidden),
    ):
        with pytest.raises(refusal), store.write() as session:
            revoke_token(session, OF_W1, made[name].id, now=at(1))
    for wards in (None, W2, both):
        with pytest.raises(Forbidden, match="not all of these wards are yours"):
            make(store, "more", wards, by=OF_W1)
    assert links(store) == before
    assert sorted(listed(store)) == sorted(names)


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, PROGRAM], ids=lambda one: one.id)
def test_nobody_else_makes_lists_or_takes_back_a_token(charting: Charting, actor: Actor) -> None:
    _, made = make(charting.store, wards=W1)
    before = charting.everything()

    with pytest.raises(Forbidden, match="may not make tokens and take them back"):
        make(charting.store, "another", W1, by=actor)
    with pytest.raises(Forbidden):
        listed(charting.store, actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        revoke_token(session, actor, made.id, now=at(1))

    assert charting.everything() == before


def test_a_token_that_is_not_there_or_has_no_name_is_refused(store: Store) -> None:
    with pytest.raises(NotFound, match="the token was not found"), store.write() as session:
        revoke_token(session, ADMINISTRATOR, "none", now=at(1))
    with pytest.raises(Invalid, match="name: is empty"):
        make(store, " ")


@ON_BOTH_ENGINES
def test_a_use_is_kept_once_in_a_quarter_of_an_hour_and_never_earlier(store: Store) -> None:
    _, made = make(store)
    uses, elsewhere = TokenUses(store), TokenUses(store)
    second = timedelta(seconds=1)

    asked = [uses.see(made.id, at(0) + after) for after in (second * 0, second, ONCE_IN)]
    uses.write(made.id, at(15))
    elsewhere.write(made.id, at(5))
    stepped_back = uses.see(made.id, at(-60))

    with store.read() as session:
        assert token_to_revoke(session, ADMINISTRATOR, made.id).used_at == at(15)
    assert (asked, stepped_back) == ([True, False, True], True)


def test_a_use_that_cannot_be_written_is_told_to_the_log_alone(
    store: Store, caplog: pytest.LogCaptureFixture
) -> None:
    _, made = make(store)
    run_plainly(store, NO_SPACE.replace("INSERT ON audit", "UPDATE ON token"))

    with caplog.at_level(logging.WARNING):
        TokenUses(store).write(made.id, at(1))

    assert [record.getMessage()[:33] for record in caplog.records] == [
        "the use of a token was not kept: "
    ]
