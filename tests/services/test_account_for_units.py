"""Every unit that came to a ward, the missing first; nothing of another ward; by the period."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.account import Account, Gap, OutOfStorage, Standing, UnitRecord
from server.domain.errors import Invalid
from server.domain.payloads import Completed, FateRecorded, Issued, Returned, Voided
from server.domain.words import Component, Fate
from server.services.account_for_units import (
    Accounts,
    account_for_units,
    each_account,
    find_unit,
    list_missing,
)
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.list_double_bags import Holder, double_bags_of_ward
from server.services.passed_limits import Period
from server.store.accounts import Tally
from server.store.issued_units import read_issued_units
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, MANAGER, OUTSIDER, P1, P2, PROGRAM
from tests.services.records import BARE, read_in

DAY = Period(at(-60), at(24 * 60 - 60))
NUMBER = "G123426000017"
OTHER = "G123426000099"
BAG = Issued(at(2), NUMBER, product_code="E0336", division="00")


def chart(charting: Charting) -> None:
    """Given, returned, never started, running still, and one on another ward."""
    charting.run("given", "p1")
    charting.record(120, Completed(), "given")
    charting.record(130, FateRecorded(Fate.TRANSFUSED), "given")
    charting.open("back", "p2")
    charting.record(5, BAG, "back")
    charting.record(25, Returned("porter late"), "back")
    charting.open("forgotten", "p2")
    charting.issue("forgotten", minute=3)
    charting.open("running", "p2")
    charting.issue("running", minute=200)
    charting.observe(205, "p2")
    charting.start("running", minute=215)
    charting.open("asked", "p1")
    charting.open("elsewhere", "p9", ward_id="w2")
    charting.record(30, BAG, "elsewhere", actor=PROGRAM)


def read(
    charting: Charting,
    minute: float = 240,
    period: Period = DAY,
    actor: Actor = MANAGER,
    **asked: int,
) -> Accounts:
    with charting.store.read() as session:
        return account_for_units(session, actor, "w1", period, now=at(minute), **asked)


def ids(found: Accounts) -> list[str]:
    return [one.unit.episode_id for one in found.units]


@ON_BOTH_ENGINES
def test_missing_units_come_first_then_those_in_hand_then_incomplete_records(
    ward: Charting,
) -> None:
    found = read(ward, minute=244)

    assert ids(found) == ["forgotten", "running", "given", "back"]
    assert [one.standing for one in found.units] == [
        Standing.MISSING,
        Standing.IN_HAND,
        Standing.ACCOUNTED_FOR,
        Standing.ACCOUNTED_FOR,
    ]
    assert (found.tally, found.missing, found.in_hand) == (Tally(4, 2, 3), 1, 1)
    assert (found.accounted_for, found.owed) == (2, 3)
    assert found.patients == {"p1": P1, "p2": P2}
    assert (found.kept.value, found.kept.unit) == (30, "years")
    assert found.units[3] == Account(
        UnitRecord(
            episode_id="back",
            ward_id="w1",
            patient_id="p2",
            bed="4",
            component=Component.RED_CELLS,
            issued_at=at(5),
            removed_at=at(2),
            fate=Fate.RETURNED,
            fate_at=at(25),
            number=NUMBER,
            product_code="E0336",
            division="00",
            start_limit_at=at(35),
            return_limit_at=at(32),
            finish_limit_at=at(242),
            fate_limit_at=found.units[3].unit.fate_limit_at,
        ),
        Standing.ACCOUNTED_FOR,
        (),
        OutOfStorage(23.0, at(2), at(25), at(32)),
    )
    assert found.units[2].gaps == (Gap.NO_NUMBER, Gap.NO_REMOVAL)


def test_a_page_goes_on_where_the_one_before_ended(ward: Charting) -> None:
    pages = [ids(read(ward, minute=244, first=first, most=3)) for first in (0, 3, 6)]

    assert pages == [["forgotten", "running", "given"], ["back"], []]
    assert [ids(read(ward, minute=244, first=first, most=1)) for first in range(3)] == [
        ["forgotten"],
        ["running"],
        ["given"],
    ]


def test_a_unit_is_of_the_period_in_which_it_came(ward: Charting) -> None:
    read_in(ward, BARE)

    assert ids(read(ward, period=Period(at(3), at(5)))) == ["forgotten"]
    assert ids(read(ward, period=Period(at(5), at(6)))) == ["back"]
    assert ids(read(ward, period=Period(at(10), at(11)))) == ["u1"]
    assert read(ward, period=Period(at(999), at(1000))).tally == Tally(0, 0, 0)


def test_a_record_without_issue_number_or_fate_says_so(ward: Charting) -> None:
    read_in(ward, BARE)

    (found,) = read(ward, minute=999, period=Period(at(10), at(11))).units

    assert found.gaps == (Gap.NO_END, Gap.NO_NUMBER, Gap.NO_ISSUE)
    assert found.out_of_storage is None


def test_an_issue_that_was_corrected_counts_as_corrected(ward: Charting) -> None:
    ward.open("again", "p1")
    wrong = ward.record(300, Issued(at(290)), "again")
    ward.record(301, Voided(wrong.event_id, "wrong minute"), "again")
    ward.record(300, replace(BAG, unit_number=OTHER), "again", now=302)

    found = read(ward, minute=303, period=Period(at(300), at(301)))

    assert [(one.unit.removed_at, one.unit.number) for one in found.units] == [(at(2), OTHER)]


@ON_BOTH_ENGINES
def test_every_unit_of_a_period_comes_in_its_order_with_its_patient(ward: Charting) -> None:
    with ward.store.read() as session:
        found = list(each_account(session, MANAGER, "w1", DAY, now=at(240)))

    assert [(one.account.unit.episode_id, one.patient) for one in found] == [
        ("given", P1),
        ("forgotten", P2),
        ("back", P2),
        ("running", P2),
    ]


def test_missing_units_are_listed_with_their_patients(ward: Charting) -> None:
    with ward.store.read() as session:
        found = list_missing(session, MANAGER, "w1", DAY, now=at(244))
        later = list_missing(session, MANAGER, "w1", DAY, now=at(999))

    assert [(one.account.unit.episode_id, one.patient) for one in found] == [("forgotten", P2)]
    assert [one.account.unit.episode_id for one in later] == ["forgotten", "running"]


def test_a_unit_is_found_by_its_number_on_its_ward_only(ward: Charting) -> None:
    with ward.store.read() as session:
        typed = [
            [
                one.account.unit.episode_id
                for one in find_unit(session, MANAGER, "w1", text, now=at(9))
            ]
            for text in (NUMBER, f" ={NUMBER}00 ", "g1234 26 000017 p", "G123426000018")
        ]

    assert typed == [["back"], ["back"], ["back"], []]
    with ward.store.read() as session, pytest.raises(Invalid, match="does not fit its check"):
        find_unit(session, MANAGER, "w1", "G1234 26 000017 Q", now=at(9))


def test_a_bag_that_two_units_hold_at_once_is_told_of_both_wards(ward: Charting) -> None:
    with ward.store.read() as session:
        apart = double_bags_of_ward(session, MANAGER, "w1", DAY)
    ward.open("twin", "p2", history=True)
    ward.record(40, BAG, "twin")
    ward.open("single", "p2")
    ward.record(41, replace(BAG, unit_number=OTHER), "single")
    with ward.store.read() as session:
        found = double_bags_of_ward(session, MANAGER, "w1", DAY)
        quiet = double_bags_of_ward(session, MANAGER, "w1", Period(at(0), at(1)))
        bags = read_issued_units(session, ["elsewhere", "twin"])

    assert apart == ()
    there = Holder(bags["elsewhere"], "Ward 2", is_open=False)
    assert found == ((there, Holder(bags["twin"], "Ward 1", is_open=True)),)
    assert quiet == ()


@pytest.mark.parametrize("ask", [account_for_units, each_account, list_missing])
def test_a_period_is_at_most_a_year_and_ends_after_it_begins(ward: Charting, ask: object) -> None:
    too_long = Period(at(0), at(0) + timedelta(days=366, seconds=1))
    for period, why in (
        (too_long, "more than 366 days"),
        (Period(at(1), at(1)), "is not after from"),
    ):
        with ward.store.read() as session, pytest.raises(Invalid, match=why):
            ask(session, MANAGER, "w1", period, now=at(9))  # type: ignore[operator]


def test_nobody_sees_the_units_of_a_ward_that_is_not_theirs(ward: Charting) -> None:
    with ward.store.read() as session:
        for ask in (
            lambda who, where: account_for_units(session, who, where, DAY, now=at(9)),
            lambda who, where: each_account(session, who, where, DAY, now=at(9)),
            lambda who, where: list_missing(session, who, where, DAY, now=at(9)),
            lambda who, where: find_unit(session, who, where, NUMBER, now=at(9)),
            lambda who, where: double_bags_of_ward(session, who, where, DAY),
        ):
            with pytest.raises(Forbidden):
                ask(OUTSIDER, "w1")
            with pytest.raises(NotFound):
                ask(ADMINISTRATOR, "nowhere")
