"""Wards are entered and changed by an administrator, with a policy that exists."""

import json
from dataclasses import replace
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.words import Role
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.enter_ward import WardDraft, enter_ward, list_wards, read_ward
from server.services.errors import Forbidden, NotFound
from server.services.policies import policy_in_force
from server.services.tokens import actor_of_token, make_token
from server.store.sessions import Change
from server.store.staff import read_staff
from server.store.wards import Ward
from tests.domain.builders import POLICIES, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    W2,
    WARD_1,
    WARD_2,
    staff_draft,
)
from tests.services.trail import links

PROGRAM_OF_W2 = Actor("program-2", "Set-up", Role.ADMINISTRATOR, W2)
DRAFT = WardDraft("w3", " Ward 3 ", "uk", "Europe/London", "F", "bleep 12")


def _enter(charting: Charting, draft: WardDraft, actor: Actor = ADMINISTRATOR) -> Ward:
    with charting.store.write() as session:
        return enter_ward(session, actor, draft, POLICIES, now=at(0))


def _read(charting: Charting, ward_id: str) -> Ward:
    with charting.store.read() as session:
        return read_ward(session, ADMINISTRATOR, ward_id)


@ON_BOTH_ENGINES
def test_a_ward_is_kept_as_entered(charting: Charting) -> None:
    entered = _enter(charting, DRAFT)

    assert entered == Ward("w3", "Ward 3", "Europe/London", at(0), "F", "bleep 12", revision=1)
    assert _read(charting, "w3") == entered
    with charting.store.read() as session:
        assert policy_in_force(session, "w3", at(0)) == POLICIES["uk"]


def test_a_ward_without_an_id_is_given_one(charting: Charting) -> None:
    entered = _enter(charting, replace(DRAFT, id=None))

    assert _read(charting, entered.id).name == "Ward 3"


@ON_BOTH_ENGINES
def test_a_ward_is_changed_under_its_id_and_keeps_its_revision(charting: Charting) -> None:
    before = _read(charting, "w1")
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    changed = _enter(charting, replace(WARD_1, name="Ward one", policy="nz"))

    after = _read(charting, "w1")
    assert (changed.name, changed.recorded_at) == ("Ward one", before.recorded_at)
    assert after == replace(before, name="Ward one", revision=before.revision + 1)
    assert heard == [(Change("w1", after.revision, frozenset()),)]


def test_who_changes_it_is_told_the_whole_ward(charting: Charting) -> None:
    charting.tick(0)

    changed = _enter(charting, replace(WARD_1, name="Ward one"))

    assert changed == _read(charting, "w1")


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"name": "  "}, "name", "is empty; expected a text"),
        ({"name": "x" * 201}, "name", "is 201 characters long; expected at most 200"),
        ({"next_contact": ""}, "next_contact", "is empty; expected a text"),
        ({"policy": "mars"}, "policy", "is unknown; expected one of au, ca, common, nz, uk"),
        ({"temperature_unit": "K"}, "temperature_unit", "is unknown; expected C or F"),
        *(
            (
                {"timezone": zone},
                "timezone",
                "is no time zone; expected an IANA name such as Pacific/Auckland",
            )
            for zone in ("Mars/Olympus", "", "../etc/passwd", "Europe", "Europe/London\x00")
        ),
    ],
)
def test_a_ward_that_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str, message: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _enter(charting, replace(DRAFT, **changes))

    assert (refused.value.field, refused.value.message) == (field, message)
    assert charting.everything() == before


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, PROGRAM], ids=lambda one: one.id)
def test_nobody_but_an_administrator_enters_a_ward(charting: Charting, actor: Actor) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden, match=f"the role {actor.role} may not set up"):
        _enter(charting, DRAFT, actor)

    assert charting.everything() == before


@pytest.mark.parametrize(
    ("actor", "wards"),
    [(NURSE, ["w1"]), (OUTSIDER, ["w2"]), (ADMINISTRATOR, ["w1", "w2"]), (PROGRAM, ["w1", "w2"])],
    ids=lambda one: getattr(one, "id", ""),
)
def test_everybody_sees_their_own_wards(charting: Charting, actor: Actor, wards: list[str]) -> None:
    with charting.store.read() as session:
        assert [ward.id for ward in list_wards(session, actor)] == wards


def test_one_ward_is_read_by_its_own(charting: Charting) -> None:
    with charting.store.read() as session:
        assert read_ward(session, NURSE, "w1").name == "Ward 1"
        with pytest.raises(Forbidden, match="this is not one of your wards"):
            read_ward(session, OUTSIDER, "w1")
        with pytest.raises(NotFound, match="the ward was not found"):
            read_ward(session, PROGRAM, "w7")


def test_an_administrator_of_one_ward_changes_no_other(charting: Charting) -> None:
    of_w2 = replace(ADMINISTRATOR, wards=frozenset({"w2"}))

    with pytest.raises(Forbidden, match="not one of your wards"):
        _enter(charting, replace(WARD_1, name="Ours now"), of_w2)

    assert _read(charting, "w1").name == WARD_1.name
    assert _enter(charting, DRAFT, of_w2).id == "w3"


@ON_BOTH_ENGINES
def test_whoever_enters_a_ward_belongs_to_it(charting: Charting) -> None:
    """A person and a program of some wards; who is of all wards needs nothing."""
    person = replace(ADMINISTRATOR, id="admin-9", staff_id="admin-9", wards=W2)
    with charting.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(person), now=at(0))
        secret = make_token(session, "Set-up", Role.ADMINISTRATOR, W2, now=at(0))
        program = actor_of_token(session, secret)
    assert program is not None

    told = []
    for ward_id, actor in (("w3", person), ("w4", program), ("w5", ADMINISTRATOR)):
        _enter(charting, replace(DRAFT, id=ward_id), actor)
        told.append(links(charting.store)[-1])

    with charting.store.read() as session:
        staff, token = read_staff(session, "admin-9"), actor_of_token(session, secret)
        unchanged = read_staff(session, "admin")
    assert staff is not None
    assert token is not None
    assert unchanged is not None
    assert (staff.wards, token.wards, unchanged.wards) == (
        frozenset({"w2", "w3"}),
        frozenset({"w2", "w4"}),
        None,
    )
    assert [(one.act, one.subject_id, json.loads(one.detail)) for one in told[:2]] == [
        ("access_changed", "admin-9", {"wards": ["w2", "w3"], "wards_were": ["w2"]}),
        ("access_changed", program.id, {"wards": ["w2", "w4"], "wards_were": ["w2"]}),
    ]
    assert told[2].act == "policy_in_force"


def test_changing_a_ward_gives_nobody_another(charting: Charting) -> None:
    person = replace(ADMINISTRATOR, id="admin-9", staff_id="admin-9", wards=W2)
    with charting.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(person), now=at(0))

    _enter(charting, replace(WARD_2, name="Ward two"), person)
    with pytest.raises(Forbidden):
        _enter(charting, replace(WARD_1, name="Ours now"), person)

    with charting.store.read() as session:
        staff = read_staff(session, "admin-9")
    assert staff is not None
    assert staff.wards == W2


def test_who_is_of_all_wards_by_now_stays_so(charting: Charting) -> None:
    """The session that is asked may be older than what somebody may."""
    for actor in (replace(ADMINISTRATOR, wards=W2), replace(PROGRAM_OF_W2, id="gone")):
        _enter(charting, replace(DRAFT, id=f"new-{actor.id}"), actor)

    with charting.store.read() as session:
        staff = read_staff(session, "admin")
    assert staff is not None
    assert staff.wards is None
