"""Who answers for a unit at an instant: the nurse, whoever covers, and where nobody is there."""

from dataclasses import replace

import pytest

from server.domain.cover import (
    Absence,
    Cover,
    Gap,
    closes_circle,
    covered_by,
    gaps,
    known_covers,
    next_absence,
    who_answers,
)
from tests.domain.builders import at


def cover(covering: str, covered: str, start: float = 0, end: float = 30) -> Cover:
    """`covering` covers for `covered`, by minutes."""
    name = f"{covering}-{covered}"
    return Cover(name, "w1", covering, covered, at(start), at(end), at(-5), "charge-1")


B_FOR_A = cover("b", "a")
C_FOR_B = cover("c", "b", 10, 20)


@pytest.mark.parametrize(
    ("minute", "second", "who"),
    [(-1, 59, "a"), (0, 0, "b"), (29, 59, "b"), (30, 0, "a")],
)
def test_a_cover_is_in_force_from_its_begin_until_just_before_its_end(
    minute: int, second: int, who: str
) -> None:
    assert who_answers("a", [B_FOR_A], at(minute, second)) == who


def test_nobody_else_s_units_are_touched_by_a_cover() -> None:
    assert [who_answers(one, [B_FOR_A], at(5)) for one in ("b", "c")] == ["b", "c"]


@pytest.mark.parametrize(("minute", "who"), [(9, "b"), (10, "c"), (19, "c"), (20, "b")])
def test_whoever_covers_for_the_one_who_covers_has_the_units_of_both(minute: int, who: str) -> None:
    covers = [B_FOR_A, C_FOR_B]

    assert [who_answers(one, covers, at(minute)) for one in ("a", "b")] == [who, who]


@pytest.mark.parametrize(("minute", "who"), [(11, "b"), (12, "a")])
def test_a_cover_that_was_ended_early_is_in_force_no_more(minute: int, who: str) -> None:
    ended = replace(B_FOR_A, ended_at=at(12), ended_by="b")

    assert (who_answers("a", [ended], at(minute)), ended.over_at) == (who, at(12))


def test_an_end_noted_after_the_end_changes_nothing() -> None:
    assert replace(B_FOR_A, ended_at=at(40)).over_at == at(30)


def test_a_cover_taken_back_before_it_began_was_never_in_force() -> None:
    back = replace(B_FOR_A, ended_at=at(-2))

    assert [back.in_force(at(minute)) for minute in (-2, 0, 10)] == [False, False, False]
    assert not back.overlaps(at(-10), at(60))


def test_in_a_circle_everybody_keeps_their_own() -> None:
    circle = [B_FOR_A, cover("a", "b"), cover("a", "c")]

    assert [who_answers(one, circle, at(5)) for one in ("a", "b", "c")] == ["a", "b", "c"]


def test_a_nurse_answers_for_all_whom_they_cover_also_through_another() -> None:
    covers = [B_FOR_A, C_FOR_B, cover("c", "d")]

    told = {one: covered_by(one, covers, at(15)) for one in ("a", "b", "c")}

    assert told == {"a": frozenset(), "b": frozenset(), "c": frozenset({"a", "b", "d"})}


@pytest.mark.parametrize(
    ("start", "end", "meets"),
    [(-10, 0, False), (-10, 1, True), (29, 60, True), (30, 60, False), (5, 6, True)],
)
def test_a_cover_overlaps_what_shares_an_instant_with_it(
    start: int, end: int, *, meets: bool
) -> None:
    assert B_FOR_A.overlaps(at(start), at(end)) is meets


@pytest.mark.parametrize(
    ("new", "closes"),
    [
        (cover("a", "b"), True),
        (cover("a", "c", 10, 20), True),
        (cover("a", "c", 20, 30), False),
        (cover("a", "b", 30, 60), False),
        (cover("d", "b"), False),
        (cover("b", "e"), False),
    ],
)
def test_a_cover_that_would_close_a_circle_is_noticed(new: Cover, *, closes: bool) -> None:
    assert closes_circle([B_FOR_A, C_FOR_B], new) is closes


BREAKS = (
    Absence("a", at(60), at(80)),
    Absence("a", at(10), at(30)),
    Absence("b", at(0), at(20)),
)


@pytest.mark.parametrize(
    ("minute", "expected"),
    [(0, BREAKS[1]), (29, BREAKS[1]), (30, BREAKS[0]), (80, None)],
)
def test_the_next_break_is_the_one_that_is_on_or_comes_first(
    minute: int, expected: Absence | None
) -> None:
    assert next_absence(BREAKS, "a", at(minute)) == expected


def test_a_break_without_cover_is_a_gap_for_those_who_have_units() -> None:
    assert gaps(["a", "c"], BREAKS, [], at(15)) == (Gap("a", "a", at(30)),)
    assert gaps(["c"], BREAKS, [], at(15)) == ()
    assert gaps(["a"], BREAKS, [], at(30)) == ()


def test_a_cover_closes_the_gap_unless_the_one_who_covers_is_away_too() -> None:
    here, away = cover("c", "a"), cover("b", "a")

    assert gaps(["a"], BREAKS, [here], at(15)) == ()
    assert gaps(["a"], BREAKS, [away], at(15)) == (Gap("a", "b", at(20)),)
    assert gaps(["a"], BREAKS, [away], at(20)) == ()


def test_covers_were_known_as_they_had_been_entered() -> None:
    """Entered at -5. One was ended at 10; another gives way at 20 to one entered at 12."""
    ended = replace(cover("b", "a"), ended_at=at(10), ended_by="charge-1")
    replaced = replace(cover("c", "d"), ended_at=at(20), ended_by="charge-1")
    taking = replace(cover("e", "d", 20, 40), recorded_at=at(12))
    entered = (ended, replaced, taking)

    assert known_covers(entered, at(-6)) == ()
    assert known_covers(entered, at(9)) == (cover("b", "a"), cover("c", "d"))
    assert known_covers(entered, at(11)) == (ended, cover("c", "d"))
    assert known_covers(entered, at(12)) == entered
