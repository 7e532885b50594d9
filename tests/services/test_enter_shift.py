"""Shifts of a ward, entered by whoever plans its staff, and by nobody of another ward."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift, list_shifts, remove_shift
from server.services.errors import Forbidden, NotFound
from server.store.sessions import Change
from server.store.shifts import Break, Shift
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    PROGRAM,
)
from tests.store.facts import counted_queries

BREAKS = (Break(at(120), at(150)), Break(at(150), at(160)))
DRAFT = ShiftDraft("nurse-1", "w1", at(0), at(480), BREAKS, "s1")


def _enter(charting: Charting, draft: ShiftDraft = DRAFT, actor: Actor = CHARGE) -> Shift:
    with charting.store.write() as session:
        return enter_shift(session, actor, draft, now=at(-240))


def _listed(charting: Charting, ward_id: str = "w1", actor: Actor = PROGRAM) -> tuple[Shift, ...]:
    with charting.store.read() as session:
        return list_shifts(session, actor, ward_id, at(0), at(1440))


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [CHARGE, ADMINISTRATOR], ids=lambda one: one.id)
def test_a_shift_is_kept_with_its_breaks(charting: Charting, actor: Actor) -> None:
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    entered = _enter(charting, actor=actor)

    assert entered == Shift("s1", "nurse-1", "w1", at(0), at(480), BREAKS)
    assert _listed(charting) == (entered,)
    assert [change.ward_id for change in heard[0]] == ["w1"]


def test_a_shift_without_an_id_is_given_one(charting: Charting) -> None:
    entered = _enter(charting, replace(DRAFT, id=None))

    assert _listed(charting) == (entered,)


@ON_BOTH_ENGINES
def test_a_shift_is_changed_under_its_id(charting: Charting) -> None:
    _enter(charting)

    changed = _enter(charting, replace(DRAFT, staff_id="nurse-2", breaks=BREAKS[:1]))

    assert _listed(charting) == (changed,)
    assert changed.breaks == BREAKS[:1]


def test_the_shift_of_another_ward_is_left_alone(charting: Charting) -> None:
    _enter(charting)
    before = charting.everything()
    theirs = replace(DRAFT, ward_id="w2", staff_id="nurse-9")

    with pytest.raises(Forbidden, match="this is not one of your wards"):
        _enter(charting, theirs, OUTSIDE_CHARGE)

    assert charting.everything() == before


def test_an_administrator_moves_a_shift_and_both_wards_are_told(charting: Charting) -> None:
    _enter(charting)
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    _enter(charting, replace(DRAFT, ward_id="w2"), ADMINISTRATOR)

    assert {change.ward_id for change in heard[0]} == {"w1", "w2"}
    assert (_listed(charting), len(_listed(charting, "w2"))) == ((), 1)


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"ends_at": at(0)}, "ends_at", "is not after starts_at; expected a later instant"),
        (
            {"ends_at": at(1440, 1)},
            "ends_at",
            "makes a shift of over 24 hours; expected at most 24",
        ),
        (
            {"breaks": (Break(at(120), at(120)),)},
            "breaks.0.ends_at",
            "is not after its starts_at",
        ),
        *(
            (
                {"breaks": breaks},
                f"breaks.{len(breaks) - 1}.starts_at",
                "lies outside the shift or overlaps the break before it",
            )
            for breaks in (
                (Break(at(-1), at(10)),),
                (Break(at(470), at(481)),),
                (Break(at(60), at(70)), Break(at(69), at(80))),
            )
        ),
    ],
)
def test_a_shift_that_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str, message: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _enter(charting, replace(DRAFT, **changes))

    assert (refused.value.field, refused.value.message) == (field, message)
    assert charting.everything() == before


def test_a_shift_may_be_a_day_long_with_a_break_at_its_very_ends(charting: Charting) -> None:
    breaks = (Break(at(0), at(1)), Break(at(1439), at(1440)))

    assert _enter(charting, replace(DRAFT, ends_at=at(1440), breaks=breaks)).breaks == breaks


@pytest.mark.parametrize(
    ("changes", "what"),
    [({"ward_id": "w7"}, "the ward"), ({"staff_id": "nobody"}, "the member of staff")],
)
def test_a_shift_of_nobody_or_nowhere_is_refused(
    charting: Charting, changes: dict[str, Any], what: str
) -> None:
    with pytest.raises(NotFound, match=f"{what} was not found"):
        _enter(charting, replace(DRAFT, **changes), ADMINISTRATOR)


@pytest.mark.parametrize("actor", [NURSE, MANAGER, PROGRAM, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_nobody_else_plans_the_ward(charting: Charting, actor: Actor) -> None:
    _enter(charting)
    before = charting.everything()

    with pytest.raises(Forbidden):
        _enter(charting, replace(DRAFT, id=None), actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        remove_shift(session, actor, "s1", now=at(-240))

    assert charting.everything() == before


@ON_BOTH_ENGINES
def test_a_shift_is_taken_off_the_plan(charting: Charting) -> None:
    _enter(charting)

    with charting.store.write() as session:
        remove_shift(session, CHARGE, "s1", now=at(-240))

    assert _listed(charting) == ()
    assert charting.everything()["shift_break"] == []
    with pytest.raises(NotFound, match="the shift"), charting.store.write() as session:
        remove_shift(session, CHARGE, "s1", now=at(-240))


def test_a_plan_is_read_by_the_ward_s_own(charting: Charting) -> None:
    _enter(charting)

    assert len(_listed(charting, actor=NURSE)) == 1
    with pytest.raises(Forbidden):
        _listed(charting, actor=OUTSIDE_CHARGE)


@pytest.mark.parametrize("shifts", [1, 3])
def test_listing_one_takes_as_many_queries_as_listing_three(
    charting: Charting, shifts: int
) -> None:
    for number in range(shifts):
        _enter(charting, replace(DRAFT, id=f"s{number}"))

    with counted_queries(charting.store) as sent:
        listed = _listed(charting)

    assert (len(listed), len(sent)) == (shifts, 2)
