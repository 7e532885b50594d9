"""Who is on duty when."""

import pytest

from server.domain.words import Role
from server.store.shifts import (
    Break,
    Shift,
    read_shift,
    remove_shift,
    save_shift,
    shifts_between,
    staff_on_duty,
)
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.domain.builders import at
from tests.store.facts import counted_queries

EARLY = Shift(
    "early", "n1", "w1", at(0), at(480), (Break(at(90), at(120)), Break(at(240), at(270)))
)
LATE = Shift("late", "n1", "w1", at(480), at(960))
ELSEWHERE = Shift("elsewhere", "n1", "w2", at(0), at(480))


@pytest.fixture(autouse=True)
def _shifts(store: Store, ward: Ward) -> None:
    with store.write() as session:
        add_ward(session, Ward("w2", "Ward 5", ward.timezone, at(0)))
        save_staff(session, Staff("n1", "Nia", Role.BEDSIDE_NURSE, frozenset({"w1"})))
        for shift in (LATE, EARLY, ELSEWHERE):
            save_shift(session, shift)


@pytest.mark.parametrize(
    ("from_minute", "until_minute", "found"),
    [
        (0, 960, [EARLY, LATE]),
        (479, 480, [EARLY]),
        (480, 481, [LATE]),
        (479, 481, [EARLY, LATE]),
        (-60, 0, []),
        (960, 999, []),
    ],
)
def test_shifts_that_overlap_a_period_are_found(
    store: Store, from_minute: int, until_minute: int, found: list[Shift]
) -> None:
    with store.read() as session:
        listed = shifts_between(session, "w1", at(from_minute), at(until_minute))

    assert listed == tuple(found)


def test_breaks_are_read_for_all_shifts_at_once(store: Store) -> None:
    with store.read() as session, counted_queries(store) as sent:
        shifts_between(session, "w1", at(0), at(960))

    assert len(sent) == 2


def test_a_shift_can_be_changed(store: Store) -> None:
    changed = Shift("early", "n1", "w2", at(10), at(470), (Break(at(100), at(110)),))
    with store.write() as session:
        save_shift(session, changed)

    with store.read() as session:
        assert read_shift(session, "early") == changed


def test_a_shift_is_removed_once(store: Store) -> None:
    with store.write() as session:
        removed = [remove_shift(session, "early"), remove_shift(session, "early")]

    with store.read() as session:
        left = [read_shift(session, name) for name in ("early", "late")]
    assert (removed, left) == ([True, False], [None, LATE])


def _staff(
    staff_id: str, role: Role = Role.CHARGE_NURSE, ward: str | None = "w1", *, active: bool = True
) -> Staff:
    wards = None if ward is None else frozenset({ward})
    return Staff(staff_id, staff_id, role, wards, active=active)


@pytest.mark.parametrize(
    ("minute", "on_duty"),
    [(-1, None), (0, "first"), (100, "first"), (480, "second"), (959, "second"), (960, None)],
)
def test_of_a_role_whoever_has_been_on_duty_for_longest_is_found(
    store: Store, minute: int, on_duty: str | None
) -> None:
    people = {
        "first": (_staff("first", ward=None), 0, 480),
        "second": (_staff("second"), 1, 960),
        "gone": (_staff("gone", active=False), -60, 999),
        "moved": (_staff("moved", ward="w2"), -60, 999),
        "nurse": (_staff("nurse", Role.BEDSIDE_NURSE), -60, 999),
    }
    with store.write() as session:
        for name, (person, starts, ends) in people.items():
            save_staff(session, person)
            save_shift(session, Shift(f"of-{name}", name, "w1", at(starts), at(ends)))

    with store.read() as session:
        assert staff_on_duty(session, "w1", Role.CHARGE_NURSE, at(minute)) == on_duty
