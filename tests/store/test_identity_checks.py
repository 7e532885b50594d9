"""Identity checks in the database: one open at a time, and readings that nobody changes."""

import pytest
from sqlalchemy import text

from server.domain.identity_check import CheckState
from server.domain.identity_reading import How, Item, Reading
from server.domain.words import Role
from server.store.errors import Clash
from server.store.identity_checks import (
    IdentityCheck,
    StoredReading,
    add_check,
    add_readings,
    close_check,
    give_seat,
    newest_check,
    read_check,
    readings_of,
    seated,
    set_second,
)
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import at
from tests.store.test_insert_only import ACTS

GROUP = Reading(Item.BLOOD_GROUP, How.SCANNED, "O+", "=%5100")
NAME = Reading(Item.NAME, How.CONFIRMED, "", "")


@pytest.fixture
def check(store: Store, ward: Ward) -> IdentityCheck:
    """The first check of `e1`, by `n1`; `n2` works there too."""
    with store.write() as session:
        for staff_id in ("n1", "n2"):
            person = Staff(staff_id, staff_id, Role.BEDSIDE_NURSE, frozenset({ward.id}))
            save_staff(session, person)
        return add_check(session, "e1", ward.id, checkers=2, by="n1", at=at(0))


def test_a_check_is_read_as_it_was_kept(store: Store, check: IdentityCheck) -> None:
    expected = IdentityCheck(
        id=check.id,
        episode_id="e1",
        n=1,
        ward_id="w1",
        checkers=2,
        state=CheckState.OPEN,
        opened_by="n1",
        opened_at=at(0),
        changed_at=at(0),
    )
    with store.read() as session:
        found = [read_check(session, check.id), newest_check(session, "e1")]
        assert (check, found) == (expected, [expected, expected])
        assert (read_check(session, "none"), newest_check(session, "e2")) == (None, None)


def test_no_second_check_of_a_unit_is_open(store: Store, check: IdentityCheck) -> None:
    with pytest.raises(Clash), store.write() as session:
        add_check(session, "e1", "w1", checkers=2, by="n2", at=at(1))

    with store.write() as session:
        close_check(session, check.id, CheckState.INTERRUPTED, at=at(1), by="n1")
        second = add_check(session, "e1", "w1", checkers=2, by="n2", at=at(1))
        other = add_check(session, "e2", "w1", checkers=2, by="n2", at=at(1))
        assert (second.n, other.n) == (2, 1)
        assert newest_check(session, "e1") == second


def test_the_second_person_and_the_end_are_kept(store: Store, check: IdentityCheck) -> None:
    with store.write() as session:
        set_second(session, check.id, "n2", at(1))
        give_seat(session, check.id, "hash")
        close_check(session, check.id, CheckState.MATCHED, at=at(2), by="n2")

    with store.read() as session:
        found = seated(session, "e1", "hash")
        assert found is not None
        assert (found.people, found.second_at, found.changed_at) == (("n1", "n2"), at(1), at(1))
        assert (found.state, found.closed_at, found.closed_by) == (CheckState.MATCHED, at(2), "n2")
        assert (seated(session, "e1", "other"), seated(session, "e2", "hash")) == (None, None)


def test_readings_come_back_in_their_order_and_each_once(
    store: Store, check: IdentityCheck
) -> None:
    with store.write() as session:
        add_readings(session, check.id, "n1", [GROUP, GROUP], at(1))
        add_readings(session, check.id, "n2", [GROUP], at(2))
        add_readings(session, check.id, "n1", [GROUP, NAME], at(3))

    with store.read() as session:
        assert readings_of(session, check.id) == (
            StoredReading("n1", GROUP, at(1)),
            StoredReading("n2", GROUP, at(2)),
            StoredReading("n1", NAME, at(3)),
        )
        changed = read_check(session, check.id)
        assert changed is not None
        assert changed.changed_at == at(3)


@pytest.mark.parametrize("act", ACTS)
def test_a_reading_can_neither_be_changed_nor_deleted(
    store: Store, check: IdentityCheck, act: str
) -> None:
    with store.write() as session:
        add_readings(session, check.id, "n1", [GROUP], at(1))

    with (
        pytest.raises(Clash, match="identity_reading is insert only"),
        store.write() as session,
    ):
        session.run(text(ACTS[act][session.engine_name].format("identity_reading", "position")))

    with store.read() as session:
        assert readings_of(session, check.id) == (StoredReading("n1", GROUP, at(1)),)


def test_a_reading_cannot_be_replaced_by_one_like_it(store: Store, check: IdentityCheck) -> None:
    columns = "check_id, staff_id, item, how, value, entered, read_at"
    again = f" INTO identity_reading ({columns}) SELECT {columns} FROM identity_reading"  # noqa: S608 - our names
    with store.write() as session:
        add_readings(session, check.id, "n1", [GROUP], at(1))

    with pytest.raises(Clash), store.write() as session:
        session.run(text(("REPLACE" if session.engine_name == "sqlite" else "INSERT") + again))
