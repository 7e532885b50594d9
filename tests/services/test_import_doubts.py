"""What is doubtful about a record is taken and named; and what becomes of it on the boards."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from server.domain.payloads import Issued
from server.domain.words import Component, Level, Phase
from server.services.history import Remark
from server.services.read_board import Board
from server.store.sessions import Change
from tests.domain.builders import at
from tests.services.charting import Charting, ids_of
from tests.services.people import P1, PROGRAM
from tests.services.records import BARE, LATER, SET, UNIT, patient_of, read_in

NO_ISSUE = "issued_at: is empty; no start, return or removal-based limit is owed"
UNUSED = "removed_at: is given without issued_at and is not used"


@pytest.mark.parametrize(
    ("told", "doubt"),
    [
        ({"ward_id": "icu"}, "ward_id: is icu; taken onto w1"),
        ({"issued_at": None}, f"{NO_ISSUE}|{UNUSED}"),
        ({"removed_at": at(11)}, "removed_at: lies after started_at"),
        ({"rate_ml_h": None}, "rate_ml_h: is empty; 120 mL/h was worked out from the times"),
        ({"volume_ml": None}, "volume_ml: is empty; no end can be projected"),
        ({"volume_ml": 568}, "volume_ml: 568 mL is likely several units charted as one"),
        ({"ended_at": None}, "ended_at: is empty; the unit counts as still running"),
        ({"recorded_at": at(149)},
         "ended_at: was recorded before it came; likely a planned end"),
        ({"end_reason": None}, "end_reason: is empty; taken as completed"),
        ({"ward_id": None, "removed_at": None}, ""),
        ({"volume_ml": 567.9, "recorded_at": None}, ""),
    ],
)  # fmt: skip
def test_what_is_doubtful_is_taken_and_named(
    charting: Charting, told: dict[str, Any], doubt: str
) -> None:
    report = read_in(charting, replace(UNIT, **told))

    assert "|".join(remark.text for remark in report.doubtful) == doubt
    assert (report.episodes, report.refused) == (1, [])


def test_what_was_known_of_a_patient_stays(charting: Charting) -> None:
    known = replace(UNIT, patient_id="p1", birth_date=date(1950, 1, 1), weight_kg=70)

    report = read_in(charting, known)

    assert patient_of(charting, "p1") == P1
    assert [remark.text for remark in report.doubtful] == [
        "birth_date: is 1950-01-01; 1961-05-04 was known and stays",
        "weight_kg: is 70; 68.0 was known and stays",
    ]


def test_a_weight_known_from_records_only_is_that_of_the_latest(charting: Charting) -> None:
    later = replace(UNIT, line=3, episode_id="u2", birth_date=date(1951, 1, 31), weight_kg=60)

    report = read_in(charting, UNIT, later, replace(later, episode_id="u3", weight_kg=None))

    patient = patient_of(charting)
    assert patient is not None
    assert (patient.birth_date, patient.weight_kg) == (date(1950, 1, 31), 60)
    assert [remark.text for remark in report.doubtful if "overlaps" not in remark.text] == [
        "birth_date: is 1951-01-31; 1950-01-31 was known and stays"
    ] * 2


def test_what_was_not_known_of_a_patient_is_added(charting: Charting) -> None:
    read_in(charting, BARE)

    report = read_in(charting, replace(UNIT, line=3, episode_id="u2"))

    patient = patient_of(charting)
    assert patient is not None
    assert (patient.birth_date, patient.weight_kg) == (date(1950, 1, 31), 65)
    assert report.doubtful == []


def test_units_whose_patient_is_known_better_now_are_worked_out_anew(charting: Charting) -> None:
    """A child's ceiling of 75 mL/h: 280 mL cannot be in within what is left of four hours."""
    read_in(charting, replace(BARE, component=Component.RED_CELLS))
    charting.open("e1", "h1", ward_id="w2", now=LATER)
    charting.record(LATER, Issued(), now=LATER, actor=PROGRAM)
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    read_in(charting, replace(UNIT, episode_id="u2", birth_date=date(2020, 1, 1), weight_kg=15))

    told = {change.ward_id: change.episode_ids for changes in heard for change in changes}
    assert told == {"w1": frozenset({"u1", "u2"}), "w2": frozenset({"e1"})}
    assert charting.rebuild(LATER).differed == ()


@pytest.mark.parametrize(
    ("units", "found"),
    [
        ([("a", 0, 60), ("b", 60, 90)], []),
        ([("a", 0, 60), ("b", 59, 90)], [("b", "a")]),
        ([("b", 59, 90), ("a", 0, 60)], [("b", "a")]),
        ([("a", 0, 100), ("b", 10, 20), ("c", 30, 40)], [("b", "a"), ("c", "a")]),
        ([("a", 0, None), ("b", 500, 600)], [("b", "a")]),
        ([("a", 0, 10)], []),
    ],
    ids=["after", "before the end", "any order", "inside a long one", "without an end", "alone"],
)
def test_units_of_one_patient_at_one_time_are_doubtful(
    charting: Charting, units: list[tuple[str, int, int | None]], found: list[tuple[str, str]]
) -> None:
    told = [
        replace(
            UNIT,
            line=line,
            episode_id=name,
            removed_at=None,
            issued_at=at(start),
            started_at=at(start),
            ended_at=None if end is None else at(end),
            recorded_at=None,
        )
        for line, (name, start, end) in enumerate(units, 2)
    ]

    report = read_in(charting, *told, replace(told[0], line=99, episode_id="z", patient_id="h2"))

    lines = {unit.episode_id: unit.line for unit in told}
    overlaps = [remark for remark in report.doubtful if "overlaps" in remark.text]
    assert overlaps == [
        Remark("episodes", lines[unit], f"started_at: overlaps {other} of the same patient")
        for unit, other in found
    ]


def test_records_remind_nobody(charting: Charting) -> None:
    read_in(charting, replace(UNIT, ended_at=None))

    charting.tick(LATER + timedelta(hours=2))

    assert charting.reminders() == ()
    assert charting.state("u1").level is Level.PAST_LIMIT


def test_records_stand_on_the_boards_of_their_own_time(charting: Charting) -> None:
    read_in(charting, UNIT, sets=(SET,))

    def shown(minute: float) -> Board:
        return charting.board(LATER, at=minute)

    assert [ids_of(shown(minute)) for minute in (-6, -5, 10, 150, 150 + 1439, 150 + 1440)] == [
        [], ["u1"], ["u1"], ["u1"], ["u1"], [],
    ]  # fmt: skip
    phases = [shown(minute).rows[0].picture.episode.phase for minute in (-5, 0, 10, 150)]
    assert phases == [Phase.REQUESTED, Phase.ISSUED, Phase.RUNNING, Phase.CLOSED]
