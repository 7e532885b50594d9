"""History is read in: each record becomes the facts it states, once."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from server.domain.payloads import Completed, FateRecorded, Issued, Started, Stopped
from server.domain.request import Patient
from server.domain.words import ClockName, Fate, Kind
from server.services.history import ImportReport
from tests.domain.builders import FULL, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.records import BARE, LATER, SET, UNIT, patient_of, read_in


@ON_BOTH_ENGINES
def test_a_record_becomes_the_facts_that_it_states(charting: Charting) -> None:
    report = read_in(charting, UNIT, sets=(SET,))

    read = charting.episode(LATER, "u1")
    assert report == ImportReport(episodes=1, observations=1)
    assert [(event.kind, event.happened_at, event.payload) for event in read.events] == [
        (Kind.ISSUED, at(0), Issued(removed_at=at(-5), volume_ml=280)),
        (Kind.OBSERVED, at(5), FULL),
        (Kind.STARTED, at(10), Started(120)),
        (Kind.COMPLETED, at(150), Completed(280)),
        (Kind.FATE, at(150), FateRecorded(Fate.TRANSFUSED)),
    ]
    assert {event.recorded_at for event in read.events} == {at(6), at(155)}
    assert {event.recorded_by for event in read.events} == {"program"}
    request = read.picture.case.request
    assert (request.ward_id, request.bed, request.volume_ml) == ("w1", "7", 280)
    assert (request.requested_at, request.recorded_at, request.history) == (at(-5), at(155), True)
    assert patient_of(charting) == Patient("h1", "h1", "h1", "", date(1950, 1, 31), weight_kg=65)
    assert charting.rebuild(LATER).differed == ()


def test_nothing_is_made_up_for_what_is_missing(charting: Charting) -> None:
    report = read_in(charting, BARE)

    read = charting.episode(LATER, "u1")
    assert [event.kind for event in read.events] == [Kind.STARTED]
    assert read.events[0].payload == Started(0)
    assert read.events[0].recorded_at == LATER
    owed = {clock.name for clock, _ in read.picture.clocks}
    assert owed & {ClockName.START, ClockName.RETURN, ClockName.FINISH} == set()
    assert "no_issue_time" in {advice.code for advice in read.picture.advices}
    assert [remark.text for remark in report.doubtful] == [
        "issued_at: is empty; no start, return or removal-based limit is owed",
        "rate_ml_h: is empty; 0 mL/h was worked out from the times",
        "volume_ml: is empty; no end can be projected",
        "ended_at: is empty; the unit counts as still running",
    ]


@pytest.mark.parametrize(
    ("told", "ending", "fate"),
    [
        ({}, Completed(280), Fate.TRANSFUSED),
        ({"given_ml": 120}, Completed(120), Fate.PART_TRANSFUSED),
        ({"given_ml": None}, Completed(None), Fate.TRANSFUSED),
        ({"end_reason": None}, Completed(280), Fate.TRANSFUSED),
        ({"end_reason": "rigors", "given_ml": 90}, Stopped("rigors", 90), Fate.PART_TRANSFUSED),
        ({"end_reason": "rigors"}, Stopped("rigors", 280), Fate.PART_TRANSFUSED),
    ],
    ids=["whole", "part", "not told", "no reason", "stopped early", "stopped at the end"],
)  # fmt: skip
def test_the_fate_is_what_the_ending_implies(
    charting: Charting, told: dict[str, Any], ending: object, fate: Fate
) -> None:
    read_in(charting, replace(UNIT, **told))

    events = charting.episode(LATER, "u1").events
    assert [event.payload for event in events[2:]] == [ending, FateRecorded(fate)]


@pytest.mark.parametrize(
    ("told", "rate"),
    [
        ({}, 120),
        ({"rate_ml_h": None}, 120),
        ({"rate_ml_h": None, "given_ml": 140}, 60),
        ({"rate_ml_h": None, "given_ml": None}, 120),
        ({"rate_ml_h": None, "given_ml": None, "volume_ml": None}, 0),
        ({"rate_ml_h": None, "ended_at": at(10)}, 0),
        ({"rate_ml_h": None, "ended_at": at(10, 1)}, 10_000),
    ],
    ids=["told", "mean", "of what was given", "of the volume", "unknown", "at once", "ceiling"],
)
def test_without_a_rate_it_is_the_mean_of_the_times(
    charting: Charting, told: dict[str, Any], rate: float
) -> None:
    read_in(charting, replace(UNIT, **told))

    assert charting.episode(LATER, "u1").events[1].payload == Started(rate)


@ON_BOTH_ENGINES
def test_a_second_run_adds_nothing(charting: Charting) -> None:
    units = [replace(UNIT, line=n, episode_id=f"u{n}") for n in (2, 3, 4)]
    sets = tuple(replace(SET, line=n, happened_at=at(n)) for n in (2, 3, 4))
    read_in(charting, *units, sets=sets)
    before = charting.everything("ward")

    again = read_in(charting, *units, sets=sets, now=LATER + timedelta(days=1))

    assert (again.episodes, again.observations, again.already) == (0, 0, 6)
    assert (again.refused, charting.everything("ward")) == ([], before)


def test_a_run_that_broke_off_is_finished_by_another(charting: Charting) -> None:
    read_in(charting, UNIT)

    report = read_in(charting, UNIT, replace(UNIT, line=3, episode_id="u2"), sets=(SET, SET))

    assert (report.episodes, report.observations, report.already) == (1, 1, 2)


def test_a_set_that_differs_in_any_value_is_another_set(charting: Charting) -> None:
    other = replace(SET, observed=replace(FULL, temperature_c=36.9))

    report = read_in(charting, UNIT, sets=(SET, other, replace(SET, line=4)))

    assert (report.observations, report.already) == (2, 1)


def test_progress_is_told_batch_by_batch(charting: Charting) -> None:
    units = [replace(UNIT, line=n, episode_id=f"u{n}") for n in range(2, 203)]
    sets = tuple(replace(SET, line=n, happened_at=at(0, n)) for n in range(2, 203))
    told: list[tuple[str, int]] = []

    report = read_in(
        charting, *units, sets=sets, progress=lambda file, line: told.append((file, line))
    )

    assert told == [
        ("episodes", 201),
        ("episodes", 202),
        ("observations", 201),
        ("observations", 202),
    ]
    assert (report.episodes, report.observations) == (201, 201)
