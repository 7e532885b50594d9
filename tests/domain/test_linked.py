"""Which units an identity error has to be warned of: the rule, at its boundaries.

The rule is the project's own: no published source gives one.
"""

from datetime import datetime, timedelta

import pytest

from server.domain.episode import Episode
from server.domain.fold import fold
from server.domain.linked import IdentityError, concerns
from server.domain.payloads import (
    Available,
    Cancelled,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Returned,
    Started,
)
from server.domain.words import Component, Fate
from tests.domain.builders import Fact, around, at, request, told

WITHIN = timedelta(minutes=60)


def unit(*facts: Fact, patient_id: str = "patient-2", **fields: object) -> Episode:
    return fold(request(patient_id=patient_id, **fields), told(*facts))


WRONG = unit((0, Issued()), (10, Started(60)), patient_id="patient-1")
ERROR = IdentityError(WRONG, at(40))


def warned_of(other: Episode, error: IdentityError = ERROR) -> bool:
    return concerns(error, other, WITHIN)


@pytest.mark.parametrize(
    ("boundary", "expected"), list(zip(around(at(40)), (True, True, False), strict=True))
)
def test_it_came_by_the_second_of_the_finding(boundary: datetime, *, expected: bool) -> None:
    assert warned_of(unit((boundary, Issued()))) is expected


@pytest.mark.parametrize(
    ("boundary", "expected"), list(zip(around(at(-60)), (False, True, True), strict=True))
)
def test_it_was_hung_no_earlier_than_the_margin_before_the_wrong_one_came(
    boundary: datetime, *, expected: bool
) -> None:
    assert warned_of(unit((-200, Issued()), (boundary, Started(60)))) is expected


def test_it_waits_however_long_ago_it_came() -> None:
    assert warned_of(unit((-300, Issued())))


def test_it_is_never_the_same_patients() -> None:
    assert not warned_of(unit((0, Issued()), patient_id="patient-1"))


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        ((), False),
        (((0, Available()),), False),
        (((0, Cancelled("no")),), False),
        (((0, Issued()),), True),
        (((0, Issued()), (5, Started(60))), True),
        (((0, Issued()), (5, Started(60)), (30, Completed())), True),
        (
            (
                (0, Issued()),
                (5, Started(60)),
                (30, Completed()),
                (31, FateRecorded(Fate.TRANSFUSED)),
            ),
            True,
        ),
        (((0, Issued()), (5, Returned())), False),
        (((0, Issued()), (5, Discarded("warm"))), False),
        (((0, Issued()), (5, Discarded("warm")), (6, FateRecorded(Fate.DISCARDED))), False),
    ],
)
def test_it_is_here_or_was_given(facts: tuple[Fact, ...], *, expected: bool) -> None:
    assert warned_of(unit(*facts)) is expected


def test_another_component_counts_as_well() -> None:
    assert warned_of(unit((0, Issued()), component=Component.PLATELETS))


def test_without_an_issue_the_start_says_when_it_came() -> None:
    read_in = unit((-30, Started(60)), history=True)
    wrong = unit((0, Started(60)), patient_id="patient-1", history=True)

    assert warned_of(read_in, IdentityError(wrong, at(40)))
    assert not warned_of(unit((41, Started(60)), history=True), IdentityError(wrong, at(40)))
