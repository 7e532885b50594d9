"""Files for spreadsheets: read back whole they are what was put in, and nothing in them runs."""

import csv
import gc
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.worksheet._writer import ALL_TEMP_FILES

from server.exchange.sheets import (
    FORMATS,
    About,
    Cells,
    Column,
    Holds,
    Plain,
    Shape,
    Sheet,
    without_identity,
)

LONDON = ZoneInfo("Europe/London")
MADE_AT = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
SUMMER = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)  # 01:30 on the wall, as an hour later again
COLUMNS = (
    Column("limit_at", "Limit", Shape.INSTANT, note="When it was owed"),
    Column("patient_id", "Patient", holds=Holds.PATIENT),
    Column("family_name", "Family name", holds=Holds.IDENTITY),
    Column("birth_date", "Date of birth", Shape.DAY, holds=Holds.IDENTITY),
    Column("late_minutes", "Late by", Shape.NUMBER, unit="min", source="Local policy"),
    Column("is_met", "Met", Shape.YES_NO),
    Column("cause", "Cause"),
)
ROWS: tuple[Cells, ...] = (
    (SUMMER, "p-7", "Ash", date(1961, 5, 4), 12.5, False, "=1+1"),
    (MADE_AT, "p-2", "Øst, “Li”", date(1899, 1, 2), -3, True, "porter\nlate"),
    (None, "p-7", "Ash", None, None, None, None),
)
ABOUT = About(
    title="Breaches",
    ward="Ward 4",
    zone=LONDON,
    made_at=MADE_AT,
    made_by="manager",
    version="1.2.3",
    only=("limits from 1 October to 25 October 2026", "first check"),
    facts=(("Policy", "UK, version 3"),),
)
SHEET = Sheet("breaches", ABOUT, COLUMNS, ROWS)
FORMULAS = ("=1+1", "+44", "-4", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "=cmd|' /C calc'!A0", "#N/A")


def _written(sheet: Sheet, form: str) -> tuple[bytes, int]:
    file = BytesIO()
    rows = FORMATS[form].write(sheet, file)
    return file.getvalue(), rows


def _csv(written: bytes, name: str) -> list[list[str]]:
    with ZipFile(BytesIO(written)) as archive:
        text = archive.read(name).decode()
    return list(csv.reader(StringIO(text, newline=""), strict=True))


def _leaf(written: bytes, n: int) -> list[tuple[Any, ...]]:
    book = load_workbook(BytesIO(written))
    return list(book.worksheets[n].iter_rows(values_only=True))


def test_rows_are_read_back_by_a_program_for_csv() -> None:
    written, rows = _written(SHEET, "csv")

    assert rows == 3
    assert _csv(written, "breaches.csv") == [
        [
            "limit_at",
            "limit_at_ward_time",
            "patient_id",
            "family_name",
            "birth_date",
            "late_minutes",
            "is_met",
            "cause",
        ],
        [
            "2026-10-25T00:30:00Z",
            "2026-10-25T01:30:00+01:00",
            "p-7",
            "Ash",
            "1961-05-04",
            "12.5",
            "no",
            "'=1+1",
        ],
        [
            "2026-10-25T01:30:00Z",
            "2026-10-25T01:30:00+00:00",
            "p-2",
            "Øst, “Li”",
            "1899-01-02",
            "-3",
            "yes",
            "porter\nlate",
        ],
        ["", "", "p-7", "Ash", "", "", "", ""],
    ]


def test_rows_are_read_back_by_a_program_for_workbooks() -> None:
    written, rows = _written(SHEET, "xlsx")
    book = load_workbook(BytesIO(written))

    assert rows == 3
    assert [leaf.title for leaf in book.worksheets] == ["breaches", "About"]
    assert _leaf(written, 0) == [
        (
            "Limit (ward time)",
            "Limit (UTC)",
            "Patient",
            "Family name",
            "Date of birth",
            "Late by (min)",
            "Met",
            "Cause",
        ),
        (
            datetime(2026, 10, 25, 1, 30),  # noqa: DTZ001 - a cell has no zone
            datetime(2026, 10, 25, 0, 30),  # noqa: DTZ001 - a cell has no zone
            "p-7",
            "Ash",
            datetime(1961, 5, 4),  # noqa: DTZ001 - a cell has no zone
            12.5,
            "no",
            "=1+1",
        ),
        (
            datetime(2026, 10, 25, 1, 30),  # noqa: DTZ001 - a cell has no zone
            datetime(2026, 10, 25, 1, 30),  # noqa: DTZ001 - a cell has no zone
            "p-2",
            "Øst, “Li”",
            "1899-01-02",
            -3,
            "yes",
            "porter\nlate",
        ),
        (None, None, "p-7", "Ash", None, None, None, None),
    ]
    assert book.worksheets[0].freeze_panes == "A2"
    assert book.worksheets[0]["A2"].number_format == "yyyy-mm-dd hh:mm:ss"
    assert book.worksheets[0].column_dimensions["A"].width == 20


ABOUT_ROWS = [
    ["What", "Breaches"],
    ["Ward", "Ward 4"],
    ["Only", "limits from 1 October to 25 October 2026"],
    ["Only", "first check"],
    ["Rows", "3"],
    ["Made", "2026-10-25 01:30:00 ward time (2026-10-25T01:30:00Z)"],
    ["Made by", "manager; who it was stands in the audit trail"],
    ["Made with", "Fourth Hour 1.2.3"],
    ["Patients", "With patient identity: keep it as you keep the notes."],
    ["Times", "Each time stands twice: in UTC, and as the clock of the ward (Europe/London)"],
    ["Empty cells", "Not recorded, or not so"],
    ["Policy", "UK, version 3"],
    [
        "Caution",
        (
            "Fourth Hour supports, and does not replace, local policy, the laboratory’s issue "
            "decision and professional judgement. It is not a medical device."
        ),
    ],
]
COLUMN_ROWS = [
    ["Column", "In words", "Kind", "Unit", "What it is", "Source"],
    ["limit_at, limit_at_ward_time", "Limit", "time", "", "When it was owed", ""],
    ["patient_id", "Patient", "text", "", "", ""],
    ["family_name", "Family name", "text", "", "", ""],
    ["birth_date", "Date of birth", "day", "", "", ""],
    ["late_minutes", "Late by", "number", "min", "", "Local policy"],
    ["is_met", "Met", "yes or no", "", "", ""],
    ["cause", "Cause", "text", "", "", ""],
]


def test_a_file_says_what_it_holds_with_units_sources_and_what_it_was_narrowed_to() -> None:
    beside = _csv(_written(SHEET, "csv")[0], "about.csv")
    leaf = [
        [cell for cell in row if cell is not None] for row in _leaf(_written(SHEET, "xlsx")[0], 1)
    ]

    assert beside == [[*row, "", "", "", ""] for row in ABOUT_ROWS] + COLUMN_ROWS
    assert leaf == [*ABOUT_ROWS, [], *([cell for cell in row if cell] for row in COLUMN_ROWS)]


def test_without_identity_nobody_is_named_and_a_patient_is_a_number_of_the_file() -> None:
    bare = without_identity(SHEET)
    written, _ = _written(bare, "csv")

    assert _csv(written, "breaches.csv") == [
        ["limit_at", "limit_at_ward_time", "patient", "late_minutes", "is_met", "cause"],
        ["2026-10-25T00:30:00Z", "2026-10-25T01:30:00+01:00", "patient 1", "12.5", "no", "'=1+1"],
        [
            "2026-10-25T01:30:00Z",
            "2026-10-25T01:30:00+00:00",
            "patient 2",
            "-3",
            "yes",
            "porter\nlate",
        ],
        ["", "", "patient 1", "", "", ""],
    ]
    assert ["Patients", *_csv(written, "about.csv")[8][1:2]][1].startswith(
        "Without patient identity"
    )
    for form in FORMATS:
        with ZipFile(
            BytesIO(_written(replace(bare, rows=without_identity(SHEET).rows), form)[0])
        ) as archive:
            held = b"".join(archive.read(name) for name in archive.namelist())
        assert not [one for one in (b"Ash", b"p-7", b"p-2", b"1961", "Øst".encode()) if one in held]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_a_spreadsheet_would_work_out_is_a_text(text: str) -> None:
    sheet = replace(
        SHEET, columns=(Column("cause", "Cause"),), rows=((text,), (f"a {text}",)), name="one"
    )
    written, _ = _written(sheet, "xlsx")
    leaf = load_workbook(BytesIO(written)).worksheets[0]
    guarded = text if text.startswith("#") else f"'{text}"

    assert [row[0] for row in _csv(_written(sheet, "csv")[0], "one.csv")[1:]] == [
        guarded,
        f"a {text}",
    ]
    assert [leaf["A2"].data_type, leaf["A3"].data_type] == ["s", "s"]
    assert leaf["A2"].quotePrefix
    with ZipFile(BytesIO(written)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


def test_what_no_cell_can_hold_does_not_lose_the_file() -> None:
    sheet = replace(
        SHEET, columns=(Column("cause", "Cause"),), rows=(("a\x00b\x1bc",), ("x" * 40_000,))
    )
    _, first, second = _leaf(_written(sheet, "xlsx")[0], 0)

    assert first == ("a\ufffdb\ufffdc",)
    assert second == ("x" * 32_767,)


def test_the_same_sheet_at_the_same_instant_is_the_same_file_byte_for_byte() -> None:
    for form in FORMATS:
        assert _written(SHEET, form) == _written(replace(SHEET, rows=iter(ROWS)), form)
        later = replace(ABOUT, made_at=datetime(2026, 10, 25, 1, 31, tzinfo=UTC))
        assert _written(SHEET, form) != _written(replace(SHEET, about=later), form)


def test_rows_are_taken_one_at_a_time() -> None:
    taken: list[int] = []

    def rows() -> Iterator[Cells]:
        for n in range(3):
            taken.append(n)
            yield (f"{n}",)

    for form in FORMATS:
        sheet = replace(SHEET, columns=(Column("n", "N"),), rows=rows())
        assert _written(sheet, form)[1] == 3
    assert taken == [0, 1, 2, 0, 1, 2]


def test_rows_that_break_off_leave_nothing_behind() -> None:
    def rows() -> Iterator[Cells]:
        yield ("Ash",)
        raise ConnectionError("the database is away")

    kept = set(ALL_TEMP_FILES)
    for form in FORMATS:
        with pytest.raises(ConnectionError):
            _written(replace(SHEET, columns=(Column("n", "N"),), rows=rows()), form)

    gc.collect()  # what is still open would say so here
    assert set(ALL_TEMP_FILES) == kept
    assert not [name for name in ALL_TEMP_FILES if Path(name).exists()]


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=20)
VALUES: st.SearchStrategy[Plain] = st.one_of(
    st.none(), TEXTS, st.integers(-(10**9), 10**9), st.floats(-1e6, 1e6).map(lambda x: round(x, 3))
)


@given(st.lists(st.tuples(VALUES, VALUES), max_size=5))
def test_any_row_comes_back_as_it_was(rows: list[Cells]) -> None:
    columns = (Column("one", "One"), Column("two", "Two"))
    written, _ = _written(replace(SHEET, columns=columns, rows=rows), "csv")

    assert _csv(written, "breaches.csv")[1:] == [[_as_csv(value) for value in row] for row in rows]


def _as_csv(value: Plain) -> str:
    if isinstance(value, str):
        return f"'{value}" if value[:1] in tuple("=+-@\t\r\n") else value
    return "" if value is None else f"{value}".removesuffix(".0")
