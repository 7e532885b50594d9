"""One table says who may do what, and every use case asks it."""

import pytest

from server.domain.words import Kind, Role
from server.services.actor import SYSTEM, Actor
from server.services.errors import Forbidden
from server.services.permissions import MAY, Act, act_of, may, require
from tests.services.people import CHARGE, NURSE, OUTSIDER

ALLOWED = {
    Role.BEDSIDE_NURSE: {Act.READ, Act.CHART, Act.GIVE_CAUSE, Act.HAND_OVER},
    Role.CHARGE_NURSE: set(Act)
    - {Act.SET_UP, Act.TOKENS, Act.CLASSIFY, Act.USE_LEARNT, Act.READ_AUDIT, Act.WATCH},
    Role.MANAGER: {
        Act.READ,
        Act.GIVE_CAUSE,
        Act.CLASSIFY,
        Act.USE_LEARNT,
        Act.WEIGH_ALARMS,
        Act.NOTE_CHANGE,
        Act.READ_AUDIT,
        Act.EXPORT,
        Act.EXPORT_IDENTITY,
    },
    Role.ADMINISTRATOR: {
        Act.READ,
        Act.PLAN_STAFF,
        Act.LINK_WALL,
        Act.SEE_WEBHOOKS,
        Act.BADGES,
        Act.SET_UP,
        Act.TOKENS,
        Act.READ_AUDIT,
        Act.WATCH,
        Act.EXPORT,
    },
    Role.INTERFACE: {Act.READ, Act.CHART, Act.GIVE_CAUSE, Act.ORDER, Act.WATCH},
}


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("act", Act)
def test_a_role_may_do_what_the_table_says_on_its_wards_only(role: Role, act: Act) -> None:
    actor = Actor("x", "X", role, frozenset({"w1"}))

    allowed = [may(actor, act), may(actor, act, "w1"), may(actor, act, "w2")]

    assert allowed == [act in ALLOWED[role], act in ALLOWED[role], False]
    assert set(MAY) == set(Role)


@pytest.mark.parametrize("role", Role)
def test_without_wards_named_it_is_every_ward(role: Role) -> None:
    assert may(Actor("x", "X", role, None), Act.READ, "any ward at all")


def test_a_refusal_says_why() -> None:
    with pytest.raises(Forbidden, match="the role bedside_nurse may not set up wards and staff"):
        require(NURSE, Act.SET_UP)
    with pytest.raises(Forbidden, match="this is not one of your wards"):
        require(OUTSIDER, Act.READ, "w1")
    require(CHARGE, Act.ORDER, "w1")


@pytest.mark.parametrize("kind", Kind)
def test_a_cause_and_the_check_of_a_warning_are_no_charting(kind: Kind) -> None:
    others = {Kind.CAUSE_GIVEN: Act.GIVE_CAUSE, Kind.WARNING_CHECKED: Act.CHECK_WARNING}

    assert act_of(kind) is others.get(kind, Act.CHART)
    taken_back = Act.GIVE_CAUSE if kind is Kind.CAUSE_GIVEN else Act.CHART
    assert act_of(Kind.VOIDED, kind) is taken_back


def test_the_system_itself_is_a_program_of_every_ward() -> None:
    assert (SYSTEM.role, SYSTEM.wards, SYSTEM.staff_id) == (Role.INTERFACE, None, None)
