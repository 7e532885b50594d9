"""Records that cannot be are refused, whole, with the line and the reason."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from server.domain.words import Component
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.history import BadLine, ImportReport, Remark
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, CHARGE, PROGRAM
from tests.services.records import LATER, SET, UNIT, read_in


@pytest.mark.parametrize(
    ("told", "what"),
    [
        ({"patient_id": "h2"}, "patient_id"),
        ({"bed": "8"}, "bed"),
        ({"component": Component.PLASMA}, "component"),
        ({"volume_ml": 300}, "volume_ml"),
        ({"issued_at": at(1)}, "issued"),
        ({"started_at": at(11)}, "started"),
        ({"rate_ml_h": 121}, "started"),
        ({"given_ml": 279}, "completed"),
        ({"end_reason": "rigors"}, "stopped"),
    ],
)
def test_another_record_of_the_same_id_is_refused(
    charting: Charting, told: dict[str, Any], what: str
) -> None:
    read_in(charting, UNIT)
    before = charting.everything("ward")

    report = read_in(charting, replace(UNIT, line=9, **told))

    text = f"episode_id: an episode of this id exists with another {what}"
    assert report.refused == [Remark("episodes", 9, text)]
    assert charting.everything("ward") == before


def test_a_live_unit_is_not_taken_for_a_record(charting: Charting) -> None:
    charting.open("u1", "p1", volume_ml=280.0, bed="7")

    report = read_in(charting, replace(UNIT, patient_id="p1", ended_at=None))

    assert [remark.text for remark in report.refused] == [
        "episode_id: an episode of this id exists with another history"
    ]


@pytest.mark.parametrize(
    ("told", "reason"),
    [
        ({"episode_id": "x" * 201},
         "episode_id: is 201 characters long; expected at most 200"),
        ({"patient_id": "x" * 201},
         "patient_id: is 201 characters long; expected at most 200"),
        ({"bed": "x" * 201}, "bed: is 201 characters long; expected at most 200"),
        ({"end_reason": "x" * 4001},
         "end_reason: is 4001 characters long; expected at most 4000"),
        ({"weight_kg": 0}, "weight_kg: 0 is impossible; expected 0.2 to 500"),
        ({"volume_ml": 0}, "volume_ml: 0 is impossible; expected 1 to 10000"),
        ({"rate_ml_h": -1}, "rate_ml_h: -1 is impossible; expected 0 to 10000"),
        ({"given_ml": 10_001}, "given_ml: 10001 is impossible; expected 0 to 10000"),
        ({"ended_at": at(9, 59)},
         "ended_at: lies before started_at; expected it at or after"),
        ({"issued_at": at(10, 1)},
         "issued_at: lies after started_at; expected it at or before"),
        *(({name: LATER + timedelta(seconds=121)},
           f"{name}: lies in the future; expected an instant that has come")
          for name in ("removed_at", "issued_at", "started_at", "ended_at", "recorded_at")),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_is_refused_whole(
    charting: Charting, told: dict[str, Any], reason: str
) -> None:
    before = charting.everything()

    report = read_in(charting, replace(UNIT, **told))

    assert report == ImportReport(refused=[Remark("episodes", 2, reason)])
    assert charting.everything() == before


def test_refused_records_cost_no_other(charting: Charting) -> None:
    report = read_in(
        charting,
        BadLine(2, "component: is empty; expected a value"),
        replace(UNIT, line=3, volume_ml=0),
        replace(UNIT, line=4),
        sets=(replace(SET, line=2, patient_id="nobody"), BadLine(3, "x"), replace(SET, line=4)),
    )

    assert (report.episodes, report.observations) == (1, 1)
    assert report.refused == [
        Remark("episodes", 2, "component: is empty; expected a value"),
        Remark("episodes", 3, "volume_ml: 0 is impossible; expected 1 to 10000"),
        Remark("observations", 2, "patient_id: nobody is unknown; expected a patient"),
        Remark("observations", 3, "x"),
    ]


@pytest.mark.parametrize(
    ("told", "reason"),
    [
        ({"happened_at": LATER + timedelta(seconds=121)},
         "happened_at: lies in the future; expected an instant that has come"),
        ({"recorded_at": LATER + timedelta(seconds=121)},
         "recorded_at: lies in the future; expected an instant that has come"),
        ({"happened_at": datetime(1950, 1, 30, 12, tzinfo=UTC)},
         "happened_at: lies before the patient was born"),
    ],
    ids=["future", "recorded in the future", "unborn"],
)  # fmt: skip
def test_a_set_that_cannot_be_is_refused(
    charting: Charting, told: dict[str, Any], reason: str
) -> None:
    read_in(charting, UNIT)

    report = read_in(charting, sets=(replace(SET, **told),))

    assert report == ImportReport(refused=[Remark("observations", 2, reason)])


@pytest.mark.parametrize(
    ("actor", "why"),
    [
        (CHARGE, "history is imported by a program, not by a person"),
        (ADMINISTRATOR, "history is imported by a program, not by a person"),
        (replace(PROGRAM, wards=frozenset({"w2"})), "this is not one of your wards"),
    ],
    ids=["charge nurse", "administrator", "program of another ward"],
)
def test_who_may_not_import_is_refused(charting: Charting, actor: Actor, why: str) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden) as refused:
        read_in(charting, UNIT, actor=actor)

    assert (refused.value.why, charting.everything()) == (why, before)


def test_an_unknown_ward_is_not_found(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the ward w7 was not found"):
        read_in(charting, UNIT, ward_id="w7")
