"""Which bag an episode holds, and when two episodes hold one."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.domain.fold import fold
from server.domain.issued_units import IssuedUnit, is_held_twice, issued_unit
from server.domain.payloads import (
    Discarded,
    FateRecorded,
    Issued,
    Payload,
    Returned,
    Started,
    Stopped,
)
from server.domain.words import Fate
from tests.domain.builders import at, event, request

NUMBER = "A999926000001"
ISSUE = Issued(unit_number=NUMBER, product_code="E0336", division="00")
UNIT = IssuedUnit("e1", NUMBER, "E0336", "00", at(0), None)


def unit_after(*facts: tuple[int, Payload]) -> IssuedUnit | None:
    """The bag of an episode after these facts."""
    events = [event(place, when, payload) for place, (when, payload) in enumerate(facts, 1)]
    return issued_unit(fold(request(id="e1"), events))


def test_before_the_issue_no_bag_is_held() -> None:
    assert unit_after() is None


def test_an_issue_without_a_number_holds_no_known_bag() -> None:
    assert unit_after((0, Issued(product_code="E0336"))) is None


@pytest.mark.parametrize(
    ("issued", "unit"),
    [
        (ISSUE, UNIT),
        (Issued(unit_number="=A99992600000100", product_code="=<E0336V00"), UNIT),
        (Issued(unit_number="a9999 26 000001"), replace(UNIT, product_code=None, division=None)),
        (
            Issued(unit_number=NUMBER, product_code="E0336VA0", division="B0"),
            replace(UNIT, division="B0"),
        ),
        (
            Issued(unit_number=NUMBER, product_code="E0336V99", division="000025"),
            replace(UNIT, division="000025"),
        ),
        (
            Issued(unit_number="G 1", product_code="local"),
            IssuedUnit("e1", "G1", "local", None, at(0)),
        ),
    ],
)
def test_the_bag_that_an_issue_names(issued: Issued, unit: IssuedUnit) -> None:
    assert unit_after((0, issued)) == unit


@pytest.mark.parametrize(
    ("facts", "freed_at"),
    [
        ([(20, Returned())], at(20)),
        ([(20, Returned()), (30, FateRecorded(Fate.RETURNED))], at(20)),
        ([(20, Returned()), (30, FateRecorded(Fate.DISCARDED))], None),
        ([(20, Discarded("leak"))], None),
        ([(10, Started(60)), (20, Stopped("fever")), (30, Returned())], None),
        (
            [(10, Started(60)), (20, Stopped("fever")), (30, FateRecorded(Fate.RETURNED))],
            None,
        ),
    ],
)
def test_a_bag_is_free_again_only_when_it_went_back_unused(
    facts: list[tuple[int, Payload]], freed_at: datetime | None
) -> None:
    assert unit_after((0, ISSUE), *facts) == replace(UNIT, freed_at=freed_at)


@pytest.mark.parametrize(
    ("other", "twice"),
    [
        ({}, True),
        ({"number": "A999926000002"}, False),
        ({"product_code": "E0398"}, False),
        ({"division": "A0"}, False),
        ({"product_code": None}, True),
        ({"division": None}, True),
        ({"product_code": None, "division": None}, True),
        ({"freed_at": at(9)}, False),
        ({"freed_at": at(10)}, False),
        ({"freed_at": at(11)}, True),
        ({"issued_at": at(5)}, True),
        ({"issued_at": at(40)}, True),
    ],
)
def test_two_episodes_and_one_bag(other: dict[str, object], *, twice: bool) -> None:
    one = replace(UNIT, episode_id="e2", issued_at=at(10))
    held = replace(UNIT, **other)  # type: ignore[arg-type]  # fields by name

    assert (is_held_twice(one, held), is_held_twice(held, one)) == (twice, twice)
