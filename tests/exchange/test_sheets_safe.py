"""Files for spreadsheets: nothing in them runs, nothing is lost, nothing is left behind."""

import gc
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.worksheet._writer import ALL_TEMP_FILES

from server.exchange.sheets import (
    FORMATS,
    Cells,
    Column,
    Plain,
)
from tests.exchange.sheets import ABOUT, ROWS, SHEET, csv_of, leaf_of, written

FORMULAS = ("=1+1", "+44", "-4", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "=cmd|' /C calc'!A0", "#N/A")


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_a_spreadsheet_would_work_out_is_a_text(text: str) -> None:
    sheet = replace(
        SHEET, columns=(Column("cause", "Cause"),), rows=((text,), (f"a {text}",)), name="one"
    )
    file, _ = written(sheet, "xlsx")
    leaf = load_workbook(BytesIO(file)).worksheets[0]
    guarded = text if text.startswith("#") else f"'{text}"

    assert [row[0] for row in csv_of(written(sheet, "csv")[0], "one.csv")[1:]] == [
        guarded,
        f"a {text}",
    ]
    assert [leaf["A2"].data_type, leaf["A3"].data_type] == ["s", "s"]
    assert leaf["A2"].quotePrefix
    with ZipFile(BytesIO(file)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


def test_what_no_cell_can_hold_does_not_lose_the_file() -> None:
    sheet = replace(
        SHEET, columns=(Column("cause", "Cause"),), rows=(("a\x00b\x1bc",), ("x" * 40_000,))
    )
    _, first, second = leaf_of(written(sheet, "xlsx")[0], 0)

    assert first == ("a\ufffdb\ufffdc",)
    assert second == ("x" * 32_767,)


def test_the_same_sheet_at_the_same_instant_is_the_same_file_byte_for_byte() -> None:
    for form in FORMATS:
        assert written(SHEET, form) == written(replace(SHEET, rows=iter(ROWS)), form)
        later = replace(ABOUT, made_at=datetime(2026, 10, 25, 1, 31, tzinfo=UTC))
        assert written(SHEET, form) != written(replace(SHEET, about=later), form)


def test_rows_are_taken_one_at_a_time() -> None:
    taken: list[int] = []

    def rows() -> Iterator[Cells]:
        for n in range(3):
            taken.append(n)
            yield (f"{n}",)

    for form in FORMATS:
        sheet = replace(SHEET, columns=(Column("n", "N"),), rows=rows())
        assert written(sheet, form)[1] == 3
    assert taken == [0, 1, 2, 0, 1, 2]


def test_rows_that_break_off_leave_nothing_behind() -> None:
    def rows() -> Iterator[Cells]:
        yield ("Ash",)
        raise ConnectionError("the database is away")

    kept = set(ALL_TEMP_FILES)
    for form in FORMATS:
        with pytest.raises(ConnectionError):
            written(replace(SHEET, columns=(Column("n", "N"),), rows=rows()), form)

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
    file, _ = written(replace(SHEET, columns=columns, rows=rows), "csv")

    assert csv_of(file, "breaches.csv")[1:] == [[_as_csv(value) for value in row] for row in rows]


def _as_csv(value: Plain) -> str:
    if isinstance(value, str):
        return f"'{value}" if value[:1] in tuple("=+-@\t\r\n") else value
    return "" if value is None else f"{value}".removesuffix(".0")
