"""Tokens and wall links: secrets that are shown once and kept as their hash."""

import pytest

from server.domain.errors import Invalid
from server.domain.words import Role
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.tokens import actor_of_token, list_tokens, make_token, revoke_token
from server.services.wall_links import (
    list_wall_links,
    make_wall_link,
    revoke_wall_link,
    ward_of_wall_link,
)
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, PROGRAM


def _token(charting: Charting, wards: list[str] | None, name: str = "Blood bank") -> str:
    with charting.store.write() as session:
        return make_token(session, name, Role.INTERFACE, wards, now=at(0))


def _link(charting: Charting, actor: Actor = CHARGE, ward_id: str = "w1", minute: int = 0) -> str:
    with charting.store.write() as session:
        return make_wall_link(session, actor, ward_id, now=at(minute))


def _opened(charting: Charting, secret: str) -> str | None:
    with charting.store.read() as session:
        return ward_of_wall_link(session, secret)


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("wards", "expected"),
    [(None, None), (["w2", "w1", "w1"], frozenset({"w1", "w2"})), ([], frozenset())],
    ids=["every ward", "two wards", "none"],
)
def test_a_token_is_somebody_with_a_role_on_wards(
    charting: Charting, wards: list[str] | None, expected: frozenset[str] | None
) -> None:
    secret = _token(charting, wards)

    with charting.store.read() as session:
        actor = actor_of_token(session, secret)
        (kept,) = list_tokens(session, ADMINISTRATOR)
    assert actor == Actor(kept.id, "Blood bank", Role.INTERFACE, expected)
    assert secret not in repr(charting.everything())


def test_another_text_opens_nothing(charting: Charting) -> None:
    secret = _token(charting, None)

    with charting.store.read() as session:
        assert [actor_of_token(session, text) for text in ("", secret[:-1], secret + "x")] == [
            None
        ] * 3


def test_a_revoked_token_opens_nothing(charting: Charting) -> None:
    secret = _token(charting, None)
    with charting.store.write() as session:
        (kept,) = list_tokens(session, ADMINISTRATOR)
        revoke_token(session, ADMINISTRATOR, kept.id, now=at(1))

    with charting.store.read() as session:
        assert actor_of_token(session, secret) is None


def test_a_token_without_a_name_or_for_an_unknown_ward_is_refused(charting: Charting) -> None:
    before = charting.everything()

    with pytest.raises(Invalid, match="name: is empty"):
        _token(charting, None, " ")
    with pytest.raises(NotFound, match="the ward w7 was not found"):
        _token(charting, ["w1", "w7"])

    assert charting.everything() == before


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [CHARGE, ADMINISTRATOR], ids=lambda one: one.id)
def test_a_wall_link_opens_its_ward_until_it_is_revoked(charting: Charting, actor: Actor) -> None:
    secret, other = _link(charting, actor), _link(charting, actor, minute=1)
    with charting.store.read() as session:
        newest, oldest = list_wall_links(session, actor, "w1")
    before = [_opened(charting, text) for text in (secret, other, "guessed")]

    with charting.store.write() as session:
        revoke_wall_link(session, actor, "w1", oldest.id, now=at(2))

    assert (oldest.made_at, newest.made_at) == (at(0), at(1))
    assert before == ["w1", "w1", None]
    assert [_opened(charting, text) for text in (secret, other)] == [None, "w1"]
    with charting.store.read() as session:
        revoked = [link.revoked_at for link in list_wall_links(session, actor, "w1")]
    assert revoked == [None, at(2)]
    assert secret not in repr(charting.everything())


@pytest.mark.parametrize("actor", [NURSE, MANAGER, PROGRAM, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_nobody_else_makes_lists_or_revokes_a_wall_link(charting: Charting, actor: Actor) -> None:
    _link(charting)
    before = charting.everything()
    with charting.store.read() as session:
        (link,) = list_wall_links(session, CHARGE, "w1")
        with pytest.raises(Forbidden):
            list_wall_links(session, actor, "w1")

    with pytest.raises(Forbidden):
        _link(charting, actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        revoke_wall_link(session, actor, "w1", link.id, now=at(1))

    assert charting.everything() == before


def test_the_link_of_another_ward_is_not_revoked(charting: Charting) -> None:
    secret = _link(charting, ADMINISTRATOR, "w2")
    with charting.store.read() as session:
        (theirs,) = list_wall_links(session, ADMINISTRATOR, "w2")

    with pytest.raises(NotFound, match="the wall link"), charting.store.write() as session:
        revoke_wall_link(session, CHARGE, "w1", theirs.id, now=at(1))

    assert _opened(charting, secret) == "w2"


def test_a_wall_link_to_nowhere_is_not_made(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the ward was not found"):
        _link(charting, ADMINISTRATOR, "w7")
