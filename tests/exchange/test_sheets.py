"""Files for spreadsheets: read back by other programs they are what was put in."""

from dataclasses import replace
from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

from openpyxl import load_workbook

from server.exchange.sheets import (
    FORMATS,
    without_identity,
)
from tests.exchange.sheets import (
    SHEET,
    csv_of,
    leaf_of,
    written,
)


def test_rows_are_read_back_by_a_program_for_csv() -> None:
    file, rows = written(SHEET, "csv")

    assert rows == 3
    assert csv_of(file, "breaches.csv") == [
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
    file, rows = written(SHEET, "xlsx")
    book = load_workbook(BytesIO(file))

    assert rows == 3
    assert [leaf.title for leaf in book.worksheets] == ["breaches", "About"]
    assert leaf_of(file, 0) == [
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
    beside = csv_of(written(SHEET, "csv")[0], "about.csv")
    leaf = [
        [cell for cell in row if cell is not None] for row in leaf_of(written(SHEET, "xlsx")[0], 1)
    ]

    assert beside == [[*row, "", "", "", ""] for row in ABOUT_ROWS] + COLUMN_ROWS
    assert leaf == [*ABOUT_ROWS, [], *([cell for cell in row if cell] for row in COLUMN_ROWS)]


def test_without_identity_nobody_is_named_and_a_patient_is_a_number_of_the_file() -> None:
    bare = without_identity(SHEET)
    file, _ = written(bare, "csv")

    assert csv_of(file, "breaches.csv") == [
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
    assert csv_of(file, "about.csv")[8][1].startswith("Without patient identity")
    for form in FORMATS:
        with ZipFile(
            BytesIO(written(replace(bare, rows=without_identity(SHEET).rows), form)[0])
        ) as archive:
            held = b"".join(archive.read(name) for name in archive.namelist())
        assert not [one for one in (b"Ash", b"p-7", b"p-2", b"1961", "Øst".encode()) if one in held]
