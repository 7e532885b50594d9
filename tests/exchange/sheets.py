"""A sheet with every shape of column, and reading what was written of one."""

import csv
from datetime import UTC, date, datetime
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile
from zoneinfo import ZoneInfo

from openpyxl import load_workbook

from server.exchange.sheets import (
    FORMATS,
    About,
    Cells,
    Column,
    Holds,
    Shape,
    Sheet,
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


def written(sheet: Sheet, form: str) -> tuple[bytes, int]:
    file = BytesIO()
    rows = FORMATS[form].write(sheet, file)
    return file.getvalue(), rows


def csv_of(written: bytes, name: str) -> list[list[str]]:
    with ZipFile(BytesIO(written)) as archive:
        text = archive.read(name).decode()
    return list(csv.reader(StringIO(text, newline=""), strict=True))


def leaf_of(written: bytes, n: int) -> list[tuple[Any, ...]]:
    book = load_workbook(BytesIO(written))
    return list(book.worksheets[n].iter_rows(values_only=True))
