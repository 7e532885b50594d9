"""History files written: safe in a spreadsheet, and read again they are what they were."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.payloads import Observed
from server.domain.words import Component
from server.exchange.history_files import (
    EPISODE_FIELDS,
    OBSERVATION_FIELDS,
    read_episodes,
    read_observations,
)
from server.exchange.write_history import write_episodes, write_observations
from server.services.history import HistoryEpisode, HistoryObservation

TEN = datetime(2026, 3, 3, 10, tzinfo=UTC)
UNIT = HistoryEpisode(
    line=2,
    episode_id="u1",
    patient_id="p1",
    component=Component.RED_CELLS,
    started_at=TEN,
    birth_date=date(1950, 1, 31),
    weight_kg=65.5,
    ward_id="w1",
    bed="4",
    volume_ml=280,
    removed_at=TEN,
    issued_at=TEN,
    rate_ml_h=304.5283,
    ended_at=TEN,
    given_ml=279,
    end_reason="end",
    recorded_at=TEN,
)
SET = HistoryObservation(2, "p1", TEN, Observed(36.8, 78, 16, 124, 76, 97), TEN)
INSTANTS = st.datetimes(datetime(1900, 1, 1), datetime(2199, 12, 31)).map(  # noqa: DTZ001 - the zone follows
    lambda instant: instant.replace(microsecond=0, tzinfo=UTC)
)
LINES = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1).filter(
    lambda text: not text.startswith("'")
)
TEXTS = st.builds(" \n".join, st.lists(LINES, min_size=1, max_size=3))
NUMBERS = st.floats(1, 9_999)


def test_a_record_is_written_field_by_field() -> None:
    ten = "2026-03-03T10:00:00Z"

    assert list(write_episodes([UNIT])) == [
        ",".join(EPISODE_FIELDS),
        f"u1,p1,1950-01-31,65.5,w1,4,red_cells,280,{ten},{ten},{ten},304.5283,{ten},279,end,{ten}",
    ]
    assert list(write_observations([SET])) == [
        ",".join(OBSERVATION_FIELDS),
        f"p1,{ten},36.8,78,16,124,76,97,{ten}",
    ]


def test_what_is_not_known_is_left_empty() -> None:
    bare = HistoryEpisode(2, "u1", "p1", Component.PLASMA, TEN)

    assert list(write_episodes([bare]))[1] == "u1,p1,,,,,plasma,,,,2026-03-03T10:00:00Z,,,,,"


@pytest.mark.parametrize(
    ("bed", "written"),
    [
        ("=1+1", '"\'=1+1"'),
        ("+4", '"\'+4"'),
        ("-4", '"\'-4"'),
        ("@home", '"\'@home"'),
        ("4, window", '"4, window"'),
        ('the "quiet" bay', '"the ""quiet"" bay"'),
        ("4-2", "4-2"),
    ],
)
def test_what_a_spreadsheet_would_work_out_is_kept_from_it(bed: str, written: str) -> None:
    line = list(write_episodes([replace(UNIT, bed=bed)]))[1]

    assert line.split("w1,")[1].split(",red_cells")[0] == written


def _optional(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.none() | strategy


RECORDS = st.builds(
    HistoryEpisode,
    line=st.just(2),
    episode_id=LINES,
    patient_id=LINES,
    component=st.sampled_from(Component),
    started_at=INSTANTS,
    birth_date=_optional(st.dates(date(1900, 1, 1), date(2199, 12, 31))),
    ward_id=_optional(LINES),
    bed=st.just("") | LINES,
    end_reason=_optional(TEXTS),
    **{name: _optional(NUMBERS) for name in ("weight_kg", "volume_ml", "rate_ml_h", "given_ml")},
    **{
        name: _optional(INSTANTS) for name in ("removed_at", "issued_at", "ended_at", "recorded_at")
    },
)


@given(record=RECORDS)
def test_a_record_that_is_written_and_read_is_what_it_was(record: HistoryEpisode) -> None:
    lines = [f"{line}\n" for line in write_episodes([record, UNIT])]

    first, second = read_episodes("".join(lines).splitlines(keepends=True))

    assert first == record
    assert isinstance(second, HistoryEpisode)
    assert replace(second, line=2) == UNIT


def test_a_set_that_is_written_and_read_is_what_it_was() -> None:
    partial = replace(SET, observed=Observed(pulse_per_min=78), recorded_at=None)

    assert list(read_observations(write_observations([SET, partial]))) == [
        SET,
        replace(partial, line=3),
    ]
