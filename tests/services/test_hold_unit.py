"""One bag is issued for one patient: a second issue is refused, and its words give nobody away."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier

import pytest

from server.domain.issued_units import IssuedUnit
from server.domain.payloads import Discarded, Issued, Returned, Voided
from server.domain.words import Kind
from server.services.errors import Conflict
from server.services.hold_unit import HELD
from server.services.list_double_bags import list_double_bags_on_boards
from server.services.record_event import Draft, record_event
from server.store.issued_units import read_issued_units, save_issued_units
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import PROGRAM

NUMBER = "A999926000001"
BAG = {"unit_number": NUMBER, "product_code": "E0336", "division": "00"}
UNIT = IssuedUnit("e1", NUMBER, "E0336", "00", at(0))


def held(charting: Charting) -> dict[str, IssuedUnit]:
    """The bags that the two episodes hold."""
    with charting.store.read() as session:
        return read_issued_units(session, ["e1", "e2"])


def two_requests(charting: Charting) -> None:
    """A request for one patient on `w1`, and one for another on `w2`."""
    charting.open("e1", "p1")
    charting.open("e2", "p9", ward_id="w2")


def issue(charting: Charting, episode_id: str, minute: float = 0, **label: str) -> str:
    """Issue the bag as a program does; the id of the event."""
    issued = Issued(**(BAG | label))  # type: ignore[arg-type]  # fields by name
    return charting.record(minute, issued, episode_id, actor=PROGRAM).event_id


@ON_BOTH_ENGINES
def test_a_bag_is_refused_for_a_second_patient(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")
    before = charting.everything()

    with pytest.raises(Conflict) as refused:
        issue(charting, "e2", 5, unit_number=f"={NUMBER}00", product_code="E0336V00")

    assert refused.value.why == HELD
    assert charting.everything() == before
    assert held(charting) == {"e1": UNIT}


def test_the_refusal_says_nothing_of_the_other_patient(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")

    with pytest.raises(Conflict) as refused:
        issue(charting, "e2")

    said = str(refused.value)
    assert [word for word in ("e1", "p1", "w1", "Alder", "T000001", "bed") if word in said] == []


def test_a_second_unit_of_the_same_patient_is_another_bag(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.open("e2", "p1")
    issue(charting, "e1")

    with pytest.raises(Conflict):
        issue(charting, "e2")


@pytest.mark.parametrize(
    "other", [{"unit_number": "A999926000002"}, {"product_code": "E0398"}, {"division": "A0"}]
)
def test_another_pack_is_issued(charting: Charting, other: dict[str, str]) -> None:
    two_requests(charting)
    issue(charting, "e1")

    issue(charting, "e2", 5, **other)

    assert set(held(charting)) == {"e1", "e2"}


def test_packs_that_nobody_told_apart_count_as_one(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")

    with pytest.raises(Conflict):
        charting.record(5, Issued(unit_number=NUMBER), "e2", actor=PROGRAM)


@ON_BOTH_ENGINES
def test_a_bag_that_went_back_is_issued_again(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")
    charting.record(20, Returned(), "e1", actor=PROGRAM)

    issue(charting, "e2", 20)

    assert held(charting) == {
        "e1": replace(UNIT, freed_at=at(20)),
        "e2": replace(UNIT, episode_id="e2", issued_at=at(20)),
    }
    assert charting.rebuild(30).differed == ()


def test_an_issue_before_the_return_is_refused(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")
    charting.record(20, Returned(), "e1", actor=PROGRAM)

    with pytest.raises(Conflict):
        charting.record(19, Issued(**BAG), "e2", now=30, actor=PROGRAM)  # type: ignore[arg-type]


def test_a_bag_that_was_thrown_away_is_never_free(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")
    charting.record(20, Discarded("leak"), "e1", actor=PROGRAM)

    with pytest.raises(Conflict):
        issue(charting, "e2", 30)


def test_a_voided_issue_frees_the_bag(charting: Charting) -> None:
    two_requests(charting)
    mistake = issue(charting, "e1")
    charting.record(1, Voided(mistake, "wrong patient"), "e1", actor=PROGRAM)

    issue(charting, "e2", 2)

    assert held(charting) == {"e2": replace(UNIT, episode_id="e2", issued_at=at(2))}
    assert charting.rebuild(3).differed == ()


def test_a_return_is_not_voided_once_another_holds_the_bag(charting: Charting) -> None:
    two_requests(charting)
    issue(charting, "e1")
    returned = charting.record(20, Returned(), "e1", actor=PROGRAM)
    issue(charting, "e2", 25)

    with pytest.raises(Conflict):
        charting.record(30, Voided(returned.event_id, "wrong unit"), "e1", actor=PROGRAM)


def test_a_record_of_history_is_kept_although_the_bag_is_held(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.open("e2", "p9", ward_id="w2", history=True)
    issue(charting, "e1")

    issue(charting, "e2", 5)

    assert set(held(charting)) == {"e1", "e2"}


@ON_BOTH_ENGINES
def test_what_history_holds_twice_is_told_without_a_name(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.open("e2", "p9", ward_id="w2", history=True)
    charting.open("e3", "p1", history=True)
    charting.open("e4", "p1")
    for episode_id, minute in (("e1", 0), ("e2", 5)):
        issue(charting, episode_id, minute)
    # Another pack of the donation, and another number: neither is the same bag.
    issue(charting, "e3", division="A0")
    issue(charting, "e4", unit_number="A999926000002")

    with charting.store.read() as session:
        said = list_double_bags_on_boards(session, now=at(6))

    where = "e1 since 2026-03-03 10:00 UTC and e2 since 2026-03-03 10:05 UTC"
    assert said == (
        f"{NUMBER} is held twice at once, by {where}: ask the laboratory which is right",
    )


@ON_BOTH_ENGINES
def test_of_two_at_once_one_wins(charting: Charting) -> None:
    two_requests(charting)
    other = Store(charting.store.address)
    begin = Barrier(2)

    def try_issue(store: Store, episode_id: str) -> str:
        begin.wait()
        draft = Draft(Kind.ISSUED, at(0), Issued(**BAG))  # type: ignore[arg-type]
        try:
            with store.write() as session:
                record_event(session, PROGRAM, episode_id, draft, now=at(0))
        except Conflict as refused:
            return refused.why
        return episode_id

    with ThreadPoolExecutor(2) as pool:
        tries = [
            pool.submit(try_issue, store, episode_id)
            for store, episode_id in ((charting.store, "e1"), (other, "e2"))
        ]
        ends = [one.result() for one in tries]
    other.close()

    winner = next(end for end in ends if end != HELD)
    assert sorted(ends) == sorted([winner, HELD])
    assert set(held(charting)) == {winner}


@pytest.mark.parametrize("wrong", [None, replace(UNIT, division="A0")])
def test_rebuild_mends_what_differs(charting: Charting, wrong: IssuedUnit | None) -> None:
    charting.open()
    issue(charting, "e1")
    with charting.store.write() as session:
        save_issued_units(session, {"e1": wrong})

    assert charting.rebuild(1).differed == ("e1",)
    assert held(charting) == {"e1": UNIT}
