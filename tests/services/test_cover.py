"""A colleague answers for a nurse during a break: who arranges it, when, and what clashes."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.cover import Cover, Gap
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover, end_cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.read_coverage import Coverage, read_coverage
from server.store.sessions import Change
from server.store.shifts import Break
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
)
from tests.store.facts import counted_queries

DRAFT = CoverDraft("w1", "nurse-2", "nurse-1", at(0), at(30))


def enter(
    charting: Charting, draft: CoverDraft = DRAFT, actor: Actor = NURSE, minute: float = -5
) -> Cover:
    with charting.store.write() as session:
        return cover(session, actor, draft, now=at(minute))


def coverage(charting: Charting, minute: float, actor: Actor = CHARGE) -> Coverage:
    with charting.store.read() as session:
        return read_coverage(session, actor, "w1", now=at(minute))


def plan_breaks(charting: Charting, *breaks: Break, staff_id: str = "nurse-1") -> None:
    draft = ShiftDraft(staff_id, "w1", at(-240), at(480), breaks)
    with charting.store.write() as session:
        enter_shift(session, CHARGE, draft, now=at(-240))


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [NURSE, COLLEAGUE, CHARGE], ids=lambda one: one.id)
def test_a_cover_is_kept_and_its_ward_is_told(charting: Charting, actor: Actor) -> None:
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    made = enter(charting, actor=actor)

    assert made == Cover(made.id, "w1", "nurse-2", "nurse-1", at(0), at(30), at(-5), actor.id)
    assert coverage(charting, -5).covers == (made,)
    assert coverage(charting, 30).covers == ()
    assert [change.ward_id for change in heard[0]] == ["w1"]


@pytest.mark.parametrize(
    "actor", [MANAGER, ADMINISTRATOR, PROGRAM, OUTSIDER, OUTSIDE_CHARGE], ids=lambda one: one.id
)
def test_nobody_else_arranges_cover(charting: Charting, actor: Actor) -> None:
    made, before = enter(charting), charting.everything()

    with pytest.raises(Forbidden):
        enter(charting, replace(DRAFT, from_at=at(60), until_at=at(70)), actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        end_cover(session, actor, made.id, now=at(1))

    assert charting.everything() == before


def test_a_nurse_arranges_no_cover_between_two_others(charting: Charting) -> None:
    between = replace(DRAFT, covered_id="charge-1")

    with pytest.raises(Forbidden, match="may not hand over and cover for others"):
        enter(charting, between)

    assert enter(charting, between, CHARGE).covered_id == "charge-1"


def test_without_instants_it_is_for_the_next_planned_break(charting: Charting) -> None:
    plan_breaks(charting, Break(at(-60), at(-40)), Break(at(10), at(30)), Break(at(200), at(220)))

    made = enter(charting, CoverDraft("w1", "nurse-2", "nurse-1"))

    assert (made.from_at, made.until_at) == (at(10), at(30))


def test_in_the_middle_of_the_break_it_begins_now(charting: Charting) -> None:
    plan_breaks(charting, Break(at(0), at(30)))

    made = enter(charting, CoverDraft("w1", "nurse-2", "nurse-1"), minute=12)

    assert (made.from_at, made.until_at) == (at(12), at(30))


def test_with_a_beginning_alone_it_ends_with_the_break(charting: Charting) -> None:
    plan_breaks(charting, Break(at(10), at(30)))

    made = enter(charting, CoverDraft("w1", "nurse-2", "nurse-1", from_at=at(5)))

    assert (made.from_at, made.until_at) == (at(5), at(30))


def test_with_an_end_alone_it_begins_now(charting: Charting) -> None:
    plan_breaks(charting, Break(at(60), at(90)))

    made = enter(charting, CoverDraft("w1", "nurse-2", "nurse-1", until_at=at(20)), minute=3)

    assert (made.from_at, made.until_at) == (at(3), at(20))


def test_what_was_to_begin_in_the_past_begins_now(charting: Charting) -> None:
    assert enter(charting, minute=10).from_at == at(10)


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        (
            {"covering_id": "nurse-1"},
            "covering_id",
            "is the nurse who is to be covered; expected a colleague",
        ),
        *(
            (
                {name: who},
                name,
                "is no nurse of this ward; expected one who works on it",
            )
            for name, who in (
                ("covering_id", "nurse-9"),
                ("covering_id", "nobody"),
                ("covered_id", "manager-1"),
            )
        ),
        (
            {"from_at": None, "until_at": None},
            "until_at",
            "is missing, and no break is planned; expected until when",
        ),
        ({"until_at": at(0)}, "until_at", "is not after the beginning; expected a later instant"),
        ({"until_at": at(1441)}, "until_at", "makes a cover of over 24 hours; expected at most 24"),
        ({"replaces": "none"}, "replaces", "is no cover of this nurse; expected one on this ward"),
    ],
)
def test_a_cover_that_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str, message: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        enter(charting, replace(DRAFT, **changes), CHARGE)

    assert (refused.value.field, refused.value.message) == (field, message)
    assert charting.everything() == before


def test_a_cover_may_be_a_day_long(charting: Charting) -> None:
    assert enter(charting, replace(DRAFT, until_at=at(1440))).until_at == at(1440)


def test_a_ward_that_is_not_there_is_not_found(charting: Charting) -> None:
    anywhere = Actor("c", "C", CHARGE.role, None, staff_id="c")

    with pytest.raises(NotFound, match="the ward was not found"):
        enter(charting, replace(DRAFT, ward_id="none"), anywhere)


@ON_BOTH_ENGINES
def test_a_nurse_is_covered_by_one_at_a_time(charting: Charting) -> None:
    enter(charting)
    before = charting.everything()
    other = replace(DRAFT, covering_id="charge-1", from_at=at(29), until_at=at(60))

    with pytest.raises(Conflict) as refused:
        enter(charting, other)

    assert refused.value.why == (
        "Nina Nurse is covered already: by Cleo Colleague from 10:00 until 10:30; "
        "end that cover, or replace it"
    )
    assert charting.everything() == before
    assert enter(charting, replace(other, from_at=at(30))).from_at == at(30)


def test_two_do_not_cover_for_each_other(charting: Charting) -> None:
    enter(charting)
    back = CoverDraft("w1", "nurse-1", "nurse-2", at(10), at(20))

    with pytest.raises(Conflict, match="the two would cover for each other, and nobody would be"):
        enter(charting, back)

    assert enter(charting, replace(back, from_at=at(30), until_at=at(60))).covered_id == "nurse-2"


def test_a_cover_gives_way_to_the_one_that_replaces_it(charting: Charting) -> None:
    old = enter(charting)

    new = enter(
        charting,
        replace(DRAFT, covering_id="charge-1", from_at=None, replaces=old.id),
        minute=10,
    )

    ended = replace(old, ended_at=at(10), ended_by="nurse-1")
    assert coverage(charting, 9).covers == (ended, new)
    assert coverage(charting, 10).covers == (new,)
    assert (new.from_at, new.until_at) == (at(10), at(30))


def test_one_that_is_over_before_the_new_one_begins_stays_as_it_was(charting: Charting) -> None:
    old = enter(charting)

    new = enter(charting, replace(DRAFT, from_at=at(30), until_at=at(60), replaces=old.id))

    assert coverage(charting, 0).covers == (old, new)


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [NURSE, COLLEAGUE, CHARGE], ids=lambda one: one.id)
def test_a_cover_is_ended_early(charting: Charting, actor: Actor) -> None:
    made = enter(charting)

    with charting.store.write() as session:
        ended = end_cover(session, actor, made.id, now=at(12))

    assert ended == replace(made, ended_at=at(12), ended_by=actor.id)
    assert [coverage(charting, minute).covers for minute in (11, 12)] == [(ended,), ()]


@pytest.mark.parametrize("minute", [30, 31])
def test_a_cover_that_is_over_cannot_be_ended(charting: Charting, minute: int) -> None:
    made = enter(charting)

    with pytest.raises(Conflict, match="over already"), charting.store.write() as session:
        end_cover(session, NURSE, made.id, now=at(minute))


def test_a_cover_is_ended_once_and_only_if_there_is_one(charting: Charting) -> None:
    made = enter(charting)
    with charting.store.write() as session:
        end_cover(session, NURSE, made.id, now=at(-1))

    with pytest.raises(Conflict, match="over already"), charting.store.write() as session:
        end_cover(session, NURSE, made.id, now=at(0))
    with pytest.raises(NotFound, match="the cover"), charting.store.write() as session:
        end_cover(session, NURSE, "none", now=at(0))


def test_a_break_without_cover_is_a_gap_while_there_are_units(charting: Charting) -> None:
    plan_breaks(charting, Break(at(20), at(40)))
    charting.run(nurse_id="nurse-1")

    gaps = [coverage(charting, minute).gaps for minute in (19, 20, 39, 40)]

    gap = Gap("nurse-1", "nurse-1", at(40))
    assert gaps == [(), (gap,), (gap,), ()]
    assert coverage(charting, 20).names == {"nurse-1": "Nina Nurse"}
    enter(charting, CoverDraft("w1", "nurse-2", "nurse-1"), minute=20)
    assert coverage(charting, 20).gaps == ()


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, ADMINISTRATOR, PROGRAM])
def test_coverage_is_read_by_everybody_of_the_ward(charting: Charting, actor: Actor) -> None:
    made = enter(charting)

    read = coverage(charting, 0, actor)

    assert (read.covers, read.ward.id) == ((made,), "w1")
    assert read.names == {"nurse-1": "Nina Nurse", "nurse-2": "Cleo Colleague"}
    with pytest.raises(Forbidden):
        coverage(charting, 0, OUTSIDER)


@pytest.mark.parametrize("covers", [1, 3])
def test_reading_one_takes_as_many_queries_as_reading_three(
    charting: Charting, covers: int
) -> None:
    for place in range(covers):
        enter(charting, replace(DRAFT, from_at=at(60 * place), until_at=at(60 * place + 30)))

    with counted_queries(charting.store) as sent:
        read = coverage(charting, 0)

    assert (len(read.covers), len(sent)) == (covers, 5)
