"""Staff are entered and changed by an administrator; passwords are never kept in the clear."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.words import Role
from server.services.actor import Actor
from server.services.badges import read_badge
from server.services.enter_staff import StaffDraft, enter_staff, list_staff, read_staff
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.set_pin import pin_set_at
from server.services.sign_in import actor_of, check_password, sign_in
from server.store.sessions import Change
from server.store.staff import Staff
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    EVERYBODY,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    W1,
    W2,
    staff_draft,
    staff_of,
)
from tests.services.shared_device import holder, with_badge
from tests.store.facts import counted_queries

GUESSED = "is soon guessed; expected words that nobody would try, four are good"
NEW = StaffDraft("nurse-3", " Noa New ", Role.BEDSIDE_NURSE, W1, "noa", "correct horse")


def _enter(charting: Charting, draft: StaffDraft, actor: Actor = ADMINISTRATOR) -> Staff:
    with charting.store.write() as session:
        return enter_staff(session, actor, draft, now=at(0))


def _signed_in(charting: Charting, draft: StaffDraft = NEW) -> str:
    """Enter somebody, and answer the secret of their session."""
    staff = _enter(charting, draft)
    with charting.store.write() as session:
        return sign_in(session, staff, now=at(0)).secret


def _holds(charting: Charting, secret: str) -> Actor | None:
    found = holder(charting, secret, at(1))
    return None if found is None else found.actor


@ON_BOTH_ENGINES
def test_somebody_is_kept_as_entered(charting: Charting) -> None:
    entered = _enter(charting, NEW)

    with charting.store.read() as session:
        kept = read_staff(session, CHARGE, "nurse-3")
        known = check_password(session, "noa", "correct horse")
    assert entered == kept == known == Staff("nurse-3", "Noa New", Role.BEDSIDE_NURSE, W1, "noa")
    assert "correct horse" not in repr(charting.everything())


def test_somebody_without_an_id_is_given_one(charting: Charting) -> None:
    entered = _enter(charting, replace(NEW, id=None))

    with charting.store.read() as session:
        assert read_staff(session, CHARGE, entered.id) == entered


def test_somebody_of_every_ward_has_none_named(charting: Charting) -> None:
    _enter(charting, replace(NEW, wards=None))

    with charting.store.read() as session:
        assert read_staff(session, CHARGE, "nurse-3").wards is None


def test_a_change_without_a_password_keeps_it(charting: Charting) -> None:
    secret = _signed_in(charting)

    _enter(charting, replace(NEW, name="Noa Newer", password=None))

    with charting.store.read() as session:
        assert check_password(session, "noa", "correct horse") is not None
    actor = _holds(charting, secret)
    assert actor is not None
    assert (actor.name, actor.role, actor.wards) == ("Noa Newer", Role.BEDSIDE_NURSE, W1)


@pytest.mark.parametrize(
    "change",
    [{"password": "another horse"}, {"active": False}, {"role": Role.CHARGE_NURSE}, {"wards": W2}],
    ids=["new password", "left", "another role", "another ward"],
)
def test_who_opens_something_else_from_now_on_is_signed_out(
    charting: Charting, change: dict[str, Any]
) -> None:
    secret = _signed_in(charting)

    _enter(charting, replace(NEW, **({"password": None} | change)))

    with charting.store.read() as session:
        stays = check_password(session, "noa", "correct horse") is not None
    assert stays is (set(change) <= {"role", "wards"})
    assert _holds(charting, secret) is None
    assert charting.everything()["session"] == []


@pytest.mark.parametrize(
    ("change", "kept"),
    [
        ({}, (True, True)),
        ({"password": "another horse"}, (True, False)),
        ({"active": False}, (False, False)),
    ],
)
def test_a_new_password_takes_the_pin_back_and_leaving_the_badge_too(
    charting: Charting, change: dict[str, Any], kept: tuple[bool, bool]
) -> None:
    noa = actor_of(_enter(charting, NEW))
    with_badge(charting, noa)

    _enter(charting, replace(NEW, **({"password": None} | change)))

    with charting.store.read() as session:
        assert (
            read_badge(session, noa, noa.id) is not None,
            pin_set_at(session, noa) is not None,
        ) == kept


def test_a_changed_name_is_told_to_every_ward(charting: Charting) -> None:
    """A name can stand on the board of a ward that somebody has left."""
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    _enter(charting, replace(staff_draft(NURSE), name="Nina N.", wards=frozenset({"w2"})))

    assert [{change.ward_id for change in changes} for changes in heard] == [{"w1", "w2"}]


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"name": " "}, "name", "is empty; expected a text"),
        ({"name": "x" * 201}, "name", "is 201 characters long; expected at most 200"),
        ({"sign_in_name": ""}, "sign_in_name", "is empty; expected a text"),
        ({"role": Role.INTERFACE}, "role", "interface is for programs; make a token for it"),
        ({"wards": frozenset({"w1", "w7"})}, "wards", "there is no ward w7"),
        ({"password": "ninechars"}, "password", "is too short; expected at least 10 characters"),
        ({"password": "password123456"}, "password", GUESSED),
        ({"password": "qwertyuiop12"}, "password", GUESSED),
        ({"password": "noanoanoa1"}, "password", GUESSED),
        ({"password": "Fourth Hour1"}, "password", GUESSED),
    ],
)
def test_somebody_who_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str, message: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _enter(charting, replace(NEW, **changes))

    assert (refused.value.field, refused.value.message) == (field, message)
    assert charting.everything() == before


def test_a_sign_in_name_is_taken_once(charting: Charting) -> None:
    _enter(charting, NEW)
    before = charting.everything()

    with pytest.raises(Conflict, match="that sign-in name is taken"):
        _enter(charting, replace(NEW, id="nurse-4"))

    assert charting.everything() == before
    assert _enter(charting, replace(NEW, name="Noa Newer")).name == "Noa Newer"


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, PROGRAM], ids=lambda one: one.id)
def test_nobody_but_an_administrator_enters_staff(charting: Charting, actor: Actor) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden):
        _enter(charting, NEW, actor)

    assert charting.everything() == before


@ON_BOTH_ENGINES
def test_staff_of_a_ward_are_its_own_and_those_of_every_ward(charting: Charting) -> None:
    with charting.store.read() as session:
        listed = list_staff(session, NURSE, "w1")
        own = list_staff(session, OUTSIDER)
        everybody = list_staff(session, ADMINISTRATOR)

    assert listed == tuple(
        staff_of(person) for person in (ADMINISTRATOR, CHARGE, COLLEAGUE, MANAGER, NURSE)
    )
    assert [one.id for one in own] == ["admin", "charge-9", "nurse-9"]
    assert {one.id for one in everybody} == {person.id for person in EVERYBODY}


def test_an_outsider_does_not_list_the_staff(charting: Charting) -> None:
    with charting.store.read() as session, pytest.raises(Forbidden):
        list_staff(session, OUTSIDER, "w1")


def test_a_member_of_staff_of_another_ward_is_not_read(charting: Charting) -> None:
    with charting.store.read() as session:
        with pytest.raises(Forbidden, match="this is not one of your wards"):
            read_staff(session, OUTSIDER, "nurse-1")
        with pytest.raises(NotFound, match="the member of staff was not found"):
            read_staff(session, OUTSIDER, "nobody")

        assert read_staff(session, OUTSIDER, "admin").name == "Ada Admin"
        assert read_staff(session, ADMINISTRATOR, "nurse-1").name == "Nina Nurse"


@pytest.mark.parametrize("people", [1, 3])
def test_listing_one_takes_as_many_queries_as_listing_three(
    charting: Charting, people: int
) -> None:
    for number in range(people - 1):
        _enter(charting, replace(staff_draft(NURSE), id=f"more-{number}", wards=frozenset({"w2"})))

    with charting.store.read() as session, counted_queries(charting.store) as sent:
        list_staff(session, OUTSIDER, "w2")

    assert len(sent) == 2


@pytest.mark.parametrize(
    "draft",
    [
        NEW,
        replace(NEW, wards=None),
        replace(NEW, wards=W1 | W2),
        replace(staff_draft(NURSE), wards=W2, password="correct horse"),
        replace(staff_draft(ADMINISTRATOR), wards=W2, password="correct horse"),
    ],
    ids=["another ward", "every ward", "one of two", "a nurse of it", "somebody of every ward"],
)
def test_an_administrator_of_one_ward_opens_no_other(charting: Charting, draft: StaffDraft) -> None:
    of_w2 = replace(ADMINISTRATOR, wards=W2)
    before = charting.everything()

    with pytest.raises(Forbidden, match="not all of these wards are yours"):
        _enter(charting, draft, of_w2)

    assert charting.everything() == before
    assert _enter(charting, replace(NEW, wards=W2), of_w2).wards == W2
