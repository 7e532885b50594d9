"""History files: every line is taken, or refused with its number and the reason."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Observed
from server.domain.words import Component
from server.exchange.history_files import (
    EPISODE_FIELDS,
    MOST_LINES,
    OBSERVATION_FIELDS,
    read_episodes,
    read_observations,
)
from server.services.history import BadLine, HistoryEpisode, HistoryObservation

HEADER = ",".join(EPISODE_FIELDS)
FULL_LINE = (
    "u1,p1,1950-01-31,65.5,icu,bay 4,red_cells,280,2024-05-05T05:20:00Z,2024-05-05T05:30:00Z,"
    "2024-05-05T05:46:00Z,120,2024-05-05T08:06:00Z,279,completed,2024-05-05T08:10:00Z"
)
SHORT_HEADER = "episode_id,patient_id,component,started_at"
SHORT_LINE = "u1,p1,red_cells,2024-05-05T05:46:00Z"
FULL = HistoryEpisode(
    line=2,
    episode_id="u1",
    patient_id="p1",
    component=Component.RED_CELLS,
    started_at=datetime(2024, 5, 5, 5, 46, tzinfo=UTC),
    birth_date=date(1950, 1, 31),
    weight_kg=65.5,
    ward_id="icu",
    bed="bay 4",
    volume_ml=280,
    removed_at=datetime(2024, 5, 5, 5, 20, tzinfo=UTC),
    issued_at=datetime(2024, 5, 5, 5, 30, tzinfo=UTC),
    rate_ml_h=120,
    ended_at=datetime(2024, 5, 5, 8, 6, tzinfo=UTC),
    given_ml=279,
    end_reason="completed",
    recorded_at=datetime(2024, 5, 5, 8, 10, tzinfo=UTC),
)
SHORT = HistoryEpisode(2, "u1", "p1", Component.RED_CELLS, FULL.started_at)
SIGNS_HEADER = ",".join(OBSERVATION_FIELDS)
SIGNS_LINE = "p1,2024-05-05T05:40:00Z,36.8,78,16,124,76,97,2024-05-05T05:50:00Z"
SIGNS = HistoryObservation(
    line=2,
    patient_id="p1",
    happened_at=datetime(2024, 5, 5, 5, 40, tzinfo=UTC),
    observed=Observed(36.8, 78, 16, 124, 76, 97),
    recorded_at=datetime(2024, 5, 5, 5, 50, tzinfo=UTC),
)
COMPONENTS = "red_cells, platelets, plasma, cryoprecipitate, granulocytes, whole_blood"
WRONG_FIELDS = {
    "episode_id": ("", "episode_id: is empty; expected a value"),
    "patient_id": ("  ", "patient_id: is empty; expected a value"),
    "birth_date": ("31.1.1950", "birth_date: is '31.1.1950'; expected a day such as 1950-01-31"),
    "weight_kg": ("heavy", "weight_kg: is 'heavy'; expected a number"),
    "ward_id": ("\x00", "ward_id: holds a control character; expected plain text"),
    "bed": ("4\x1b", "bed: holds a control character; expected plain text"),
    "component": ("Red cells", f"component: is 'Red cells'; expected one of {COMPONENTS}"),
    "volume_ml": ("280ml", "volume_ml: is '280ml'; expected a number"),
    "rate_ml_h": ("fast", "rate_ml_h: is 'fast'; expected a number"),
    "given_ml": ("all", "given_ml: is 'all'; expected a number"),
    "end_reason": ("\x00", "end_reason: holds a control character; expected plain text"),
    **{
        name: (
            "5 May",
            f"{name}: is '5 May'; expected an instant with an offset such as 2026-01-31T10:00:00Z",
        )
        for name in ("removed_at", "issued_at", "started_at", "ended_at", "recorded_at")
    },
}


def _episodes(*lines: str) -> list[HistoryEpisode | BadLine]:
    return list(read_episodes(lines))


def _observations(*lines: str) -> list[HistoryObservation | BadLine]:
    return list(read_observations(lines))


def test_a_line_is_read_field_by_field() -> None:
    assert _episodes(HEADER, FULL_LINE) == [FULL]
    assert _observations(SIGNS_HEADER, SIGNS_LINE) == [SIGNS]


def test_only_four_columns_are_required() -> None:
    assert _episodes(SHORT_HEADER, SHORT_LINE) == [SHORT]


def test_only_two_columns_of_a_set_are_required_but_some_sign_is() -> None:
    assert _observations("patient_id,happened_at,pulse_per_min", "p1,2024-05-05T05:40:00Z,78") == [
        replace(SIGNS, observed=Observed(pulse_per_min=78), recorded_at=None)
    ]
    assert _observations("patient_id,happened_at", "p1,2024-05-05T05:40:00Z") == [
        BadLine(2, "temperature_c: no sign was given; expected at least one")
    ]


@pytest.mark.parametrize(
    "lines",
    [
        ("\ufeff" + HEADER + "\r\n", FULL_LINE + "\r\n"),
        (HEADER + "\n", FULL_LINE + "\n"),
        (HEADER, FULL_LINE, ""),
        ('\ufeff"' + HEADER.replace(",", '","') + '"', '"' + FULL_LINE.replace(",", '","') + '"'),
        (HEADER.replace(",", " , "), FULL_LINE.replace(",", " , ")),
        (HEADER + ",colour", FULL_LINE + ",red"),
    ],
    ids=["byte order mark and CRLF", "LF", "blank line at the end", "all quoted", "blanks", "more"],
)
def test_files_as_programs_write_them(lines: tuple[str, ...]) -> None:
    assert _episodes(*lines) == [FULL]


def test_columns_may_stand_in_any_order() -> None:
    assert _episodes(
        ",".join(reversed(SHORT_HEADER.split(","))), ",".join(reversed(SHORT_LINE.split(",")))
    ) == [SHORT]


def test_blank_lines_are_passed_over_and_counted() -> None:
    read = _episodes(SHORT_HEADER, "", "\r\n", SHORT_LINE)

    assert read == [replace(SHORT, line=4)]


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ('"stopped, early"', "stopped, early"),
        ('"he said ""enough"""', 'he said "enough"'),
        ('"\'=cmd()"', "=cmd()"),
        ("'@home", "@home"),
        ('stopped; 5" left', 'stopped; 5" left'),
        ('"two\nlines, then three\nin all"', "two\nlines, then three\nin all"),
    ],
)
def test_a_quoted_field_is_what_it_was_before(field: str, expected: str) -> None:
    lines = f"{SHORT_HEADER},end_reason\n{SHORT_LINE},{field}\n{SHORT_LINE},next\n"

    first, second = _episodes(*lines.splitlines(keepends=True))

    assert first == replace(SHORT, end_reason=expected)
    assert second == replace(SHORT, line=lines.count("\n"), end_reason="next")


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('"u9,p1,red_cells,2024-05-05T05:46:00Z', "has a quote that is not closed"),
        ('"u"9,p1,red_cells,2024-05-05T05:46:00Z', "',' expected after '\"'"),
        ("u9,p1,red_cells", "has fewer fields than the header line"),
        ("u9,p1,red_cells,2024-05-05T05:46:00Z,extra", "has more fields than the header line"),
        (f"u9,p1,{'x' * 200_000},2024-05-05T05:46:00Z", "field larger than field limit (131072)"),
    ],
    ids=["open quote", "stray quote", "cut off", "too long", "huge"],
)
@pytest.mark.parametrize("others", [1, MOST_LINES + 1])
def test_a_broken_line_costs_itself_and_no_other(line: str, reason: str, others: int) -> None:
    read = _episodes(SHORT_HEADER, SHORT_LINE, line, *[SHORT_LINE] * others)

    assert read == [
        SHORT,
        BadLine(3, f"the line {reason}"),
        *(replace(SHORT, line=4 + n) for n in range(others)),
    ]


def test_a_quote_that_happens_to_be_closed_later_costs_its_own_line_too() -> None:
    opened = SHORT_LINE.replace("u1", '"u1', 1)
    closed = SHORT_LINE.replace("p1", 'p1"', 1)

    read = _episodes(SHORT_HEADER, opened, closed)

    assert read == [
        BadLine(2, "the line has a quote that is not closed"),
        replace(SHORT, line=3, patient_id='p1"'),
    ]


@pytest.mark.parametrize("name", EPISODE_FIELDS)
def test_every_field_wrong_in_turn_is_refused_by_its_name(name: str) -> None:
    wrong, reason = WRONG_FIELDS[name]
    fields = dict(zip(EPISODE_FIELDS, FULL_LINE.split(","), strict=True)) | {name: wrong}

    assert _episodes(HEADER, ",".join(fields.values()), FULL_LINE) == [
        BadLine(2, reason),
        replace(FULL, line=3),
    ]


@pytest.mark.parametrize("name", OBSERVATION_FIELDS)
def test_every_field_of_a_set_wrong_in_turn_is_refused_by_its_name(name: str) -> None:
    fields = dict(zip(OBSERVATION_FIELDS, SIGNS_LINE.split(","), strict=True)) | {name: "\x00"}

    assert _observations(SIGNS_HEADER, ",".join(fields.values())) == [
        BadLine(2, f"{name}: holds a control character; expected plain text")
    ]


@pytest.mark.parametrize("name", OBSERVATION_FIELDS[2:-1])
def test_a_sign_beyond_the_possible_is_refused(name: str) -> None:
    fields = dict(zip(OBSERVATION_FIELDS, SIGNS_LINE.split(","), strict=True)) | {name: "999"}

    (refused,) = _observations(SIGNS_HEADER, ",".join(fields.values()))

    assert isinstance(refused, BadLine)
    assert refused.reason.startswith(f"{name}: 999 is impossible; expected ")


def test_an_instant_that_is_missing_is_refused() -> None:
    assert _episodes(SHORT_HEADER, "u1,p1,red_cells,") == [
        BadLine(2, "started_at: is empty; expected an instant")
    ]
    assert _observations("patient_id,happened_at", "p1,") == [
        BadLine(2, "happened_at: is empty; expected an instant")
    ]


@pytest.mark.parametrize("missing", SHORT_HEADER.split(","))
def test_a_file_without_a_required_column_is_refused(missing: str) -> None:
    header = ",".join(name for name in EPISODE_FIELDS if name != missing)

    with pytest.raises(Invalid) as refused:
        _episodes(header, FULL_LINE)

    assert refused.value.field == missing
    assert refused.value.message == "is not in the header line; expected a column of that name"


@pytest.mark.parametrize("missing", ["patient_id", "happened_at"])
def test_a_file_of_sets_without_a_required_column_is_refused(missing: str) -> None:
    header = ",".join(name for name in OBSERVATION_FIELDS if name != missing)

    with pytest.raises(Invalid, match=f"{missing}: is not in the header line"):
        _observations(header, SIGNS_LINE)


def test_an_empty_file_is_refused() -> None:
    for lines in ((), ("", "\n"), ('"episode_id',)):
        with pytest.raises(Invalid, match="episode_id: is not in the header line"):
            _episodes(*lines)


def test_a_column_that_stands_twice_is_refused() -> None:
    with pytest.raises(Invalid, match="bed: is in the header line twice"):
        _episodes(f"{SHORT_HEADER},bed,bed", f"{SHORT_LINE},4,5")


def test_a_header_alone_is_a_file_without_records() -> None:
    assert (_episodes(HEADER), _observations(SIGNS_HEADER)) == ([], [])
