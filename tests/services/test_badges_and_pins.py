"""Badges are recorded by those who may, PINs by their own person; neither can be read again."""

import re
from dataclasses import replace

import pytest

from server.domain.badge import NO_BADGE
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.badges import (
    OF_A_PATIENT,
    list_badged,
    read_badge,
    record_badge,
    take_badge_back,
)
from server.services.board_key import BoardKey
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.recognise import (
    by_password,
    by_pin,
    claim_by_badge,
    claim_by_name,
    is_again,
    is_password_of,
)
from server.services.set_pin import pin_set_at, set_pin
from server.services.try_sign_in import Claim
from server.store.badges import Badge
from server.store.staff import Staff
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
    staff_of,
)
from tests.services.shared_device import (
    GSRN,
    KEY,
    PASSWORD,
    PIN,
    noted,
    with_badge,
    with_password,
)


def _record(charting: Charting, actor: Actor, scan: str = GSRN, staff_id: str = NURSE.id) -> Badge:
    with charting.store.write() as session:
        return record_badge(session, KEY, actor, staff_id, scan, now=at(5))


def _whose(charting: Charting, scan: str, pin: str = PIN, key: BoardKey = KEY) -> Staff | None:
    with charting.store.read() as session:
        return by_pin(session, key, claim_by_badge(session, key, scan, ""), pin)


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [CHARGE, ADMINISTRATOR], ids=lambda one: one.id)
def test_a_badge_opens_with_its_pin_until_it_is_taken_back(
    charting: Charting, actor: Actor
) -> None:
    recorded = _record(charting, actor)
    with charting.store.write() as session:
        set_pin(session, KEY, NURSE, PIN, now=at(6))
    opened = [_whose(charting, scan) for scan in (GSRN, f"]C1{GSRN}", "8017735005385000000028")]
    with charting.store.write() as session:
        seen = [read_badge(session, one, NURSE.id) for one in (NURSE, actor)]
        listed = [list_badged(session, one) for one in (actor, NURSE)]
        take_badge_back(session, actor, NURSE.id, now=at(7))
        with pytest.raises(NotFound, match="the badge was not found"):
            take_badge_back(session, actor, NURSE.id, now=at(7))

    assert recorded == Badge(NURSE.id, at(5), actor.id)
    assert opened == [staff_of(NURSE), staff_of(NURSE), None]
    assert (seen, listed) == ([recorded, recorded], [{NURSE.id}, frozenset()])
    assert _whose(charting, GSRN) is None
    assert noted(charting, "badge_recorded", "badge_taken_back", "pin_set") == [
        (actor.id, "badge_recorded", NURSE.id),
        (NURSE.id, "pin_set", None),
        (actor.id, "badge_taken_back", NURSE.id),
    ]


@pytest.mark.parametrize(
    "actor", [NURSE, MANAGER, PROGRAM, OUTSIDE_CHARGE, OUTSIDER], ids=lambda one: one.id
)
def test_nobody_else_records_or_takes_a_badge_back(charting: Charting, actor: Actor) -> None:
    _record(charting, CHARGE)
    before = charting.everything()

    with pytest.raises(Forbidden):
        _record(charting, actor, "LW-101")
    with pytest.raises(Forbidden), charting.store.write() as session:
        take_badge_back(session, actor, NURSE.id, now=at(6))
    with pytest.raises(Forbidden), charting.store.read() as session:
        read_badge(session, actor, COLLEAGUE.id)

    assert charting.everything() == before


def test_a_badge_is_one_persons_and_is_replaced_by_the_next(charting: Charting) -> None:
    with_badge(charting, NURSE)
    with pytest.raises(Conflict, match="recorded for somebody else"):
        _record(charting, CHARGE, staff_id=COLLEAGUE.id)
    _record(charting, CHARGE)
    _record(charting, CHARGE, "LW-101")

    assert [_whose(charting, scan) for scan in (GSRN, "LW-101")] == [None, staff_of(NURSE)]
    assert _record(charting, CHARGE, staff_id=COLLEAGUE.id).staff_id == COLLEAGUE.id


@pytest.mark.parametrize(
    ("scan", "why"),
    [("T000001", OF_A_PATIENT), ("123456", OF_A_PATIENT), ("ab1", NO_BADGE)],
)
def test_what_could_be_a_patients_number_is_no_badge(
    charting: Charting, scan: str, why: str
) -> None:
    """`T000001` is a patient's; six digits are what the site says its numbers look like."""
    before = charting.everything()
    with charting.store.write() as session:
        session.site = replace(session.site, record_number=re.compile("[0-9]{6}"))
        with pytest.raises(Invalid) as refused:
            record_badge(session, KEY, CHARGE, NURSE.id, scan, now=at(0))

    assert (refused.value.field, refused.value.message) == ("badge", why)
    assert charting.everything() == before


def test_a_copy_of_the_database_gives_neither_badge_nor_pin(charting: Charting) -> None:
    with_badge(charting, NURSE)
    with_badge(charting, COLLEAGUE, "LW-101")
    kept = repr(charting.everything())

    assert [text in kept for text in (GSRN[4:], "LW-101", PIN)] == [False] * 3
    assert _whose(charting, GSRN, key=BoardKey(b"o" * 32)) is None
    assert KEY.digest("badge", "x") != KEY.digest("pin", "x")
    assert repr(KEY) == "BoardKey()"


def test_a_pin_is_ones_own_and_not_a_weak_one(charting: Charting) -> None:
    with_badge(charting, NURSE)
    with_badge(charting, COLLEAGUE, "LW-101", pin="739016")
    with charting.store.write() as session:
        with pytest.raises(Invalid, match="counts in equal steps"):
            set_pin(session, KEY, NURSE, "123456", now=at(1))
        with pytest.raises(Forbidden, match="a program has no PIN"):
            set_pin(session, KEY, PROGRAM, PIN, now=at(1))
        since = [pin_set_at(session, person) for person in (NURSE, CHARGE)]

    assert [_whose(charting, GSRN, pin) for pin in ("739016", "480252", "")] == [None] * 3
    assert since == [at(0), None]


def test_a_badge_without_a_pin_opens_nothing(charting: Charting) -> None:
    _record(charting, CHARGE)

    assert [_whose(charting, GSRN, pin) for pin in (PIN, "")] == [None, None]
    assert _whose(charting, "no badge at all") is None


@ON_BOTH_ENGINES
def test_who_has_locked_a_screen_is_known_again_by_pin_or_password(charting: Charting) -> None:
    with_password(charting, NURSE)
    with_badge(charting, NURSE)
    with charting.store.read() as session:
        again = [is_again(session, KEY, NURSE, secret) for secret in (PIN, PASSWORD, "480252")]
        others = [is_again(session, KEY, COLLEAGUE, secret) for secret in (PIN, PASSWORD)]
        gone = is_password_of(session, replace(NURSE, id="gone"), PASSWORD)

    assert (again, others, gone) == ([True, True, False], [False, False], False)


def test_a_name_is_claimed_whether_somebody_bears_it_or_not(charting: Charting) -> None:
    staff = with_password(charting, NURSE)
    with charting.store.read() as session:
        claims = [claim_by_name(session, name, "desk") for name in ("nurse-1", "nobody")]
        found = [by_password(session, one, PASSWORD) for one in claims]

    assert claims == [Claim("nurse-1", "nurse-1", "desk"), Claim(None, "nobody", "desk")]
    assert found == [staff, None]
