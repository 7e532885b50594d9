"""A sheet as a workbook (Office Open XML): the rows on one leaf, what they are about on another.

Rows go to the file as they come, so that a long file takes no more memory than a short one.
"""

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, date, datetime
from typing import IO, Any, Final
from zoneinfo import ZoneInfo

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.writer.excel import ExcelWriter

from server.exchange.csv_fields import FORMULA_STARTS
from server.exchange.sheets.archive import DatedArchive
from server.exchange.sheets.saying import HEADS, columns_of, facts_of
from server.exchange.sheets.sheet import Column, Plain, Shape, Sheet

TIME: Final = "yyyy-mm-dd hh:mm:ss"
DAY: Final = "yyyy-mm-dd"
WIDTH: Final = {Shape.INSTANT: 20, Shape.DAY: 12, Shape.NUMBER: 12, Shape.YES_NO: 10}
TEXT_WIDTH: Final = 24
ABOUT_WIDTHS: Final = (34, 34, 12, 10, 60, 60)
NAME_LENGTH: Final = 31  # of a leaf, as the programs have it
MOST_CHARACTERS: Final = 32_767  # in one cell, the same
FIRST_YEAR: Final = 1901  # before it spreadsheets disagree on what a number of days means
Leaf = Any  # a worksheet that is only written: the library's types know half of it
UNWRITABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def write_workbook(sheet: Sheet, file: IO[bytes]) -> int:
    """Write a sheet into an open file and answer how many rows it had."""
    book = Workbook(write_only=True)
    try:
        rows = _write_rows(book, sheet)
        _write_about(book, sheet, rows)
    except BaseException:
        _leave_nothing(book)
        raise
    book.properties.creator = "Fourth Hour"
    book.properties.title = sheet.about.title
    made = sheet.about.made_at.astimezone(UTC).replace(tzinfo=None)
    book.properties.created = book.properties.modified = made
    # Not `book.save`, which writes the time of day into the file.
    ExcelWriter(book, DatedArchive(file, sheet.about.made_at)).save()
    return rows


def _leave_nothing(book: Workbook) -> None:
    """Remove the rows that were written so far: the library keeps them in files until it ends."""
    for leaf in book.worksheets:
        writer = getattr(leaf, "_writer", None)
        if writer is not None:
            with suppress(Exception):  # a row may have broken off in its midst
                leaf.close()
            writer.cleanup()


def _write_rows(book: Workbook, sheet: Sheet) -> int:
    leaf: Leaf = book.create_sheet(sheet.name[:NAME_LENGTH])
    leaf.freeze_panes = "A2"
    for n, column in enumerate(_widths(sheet.columns), 1):
        leaf.column_dimensions[get_column_letter(n)].width = column
    leaf.append([_head(leaf, text) for column in sheet.columns for text in heads_of(column)])
    rows = 0
    for row in sheet.rows:
        leaf.append(list(_cells(leaf, sheet, row)))
        rows += 1
    return rows


def _write_about(book: Workbook, sheet: Sheet, rows: int) -> None:
    leaf: Leaf = book.create_sheet("About")
    for n, width in enumerate(ABOUT_WIDTHS, 1):
        leaf.column_dimensions[get_column_letter(n)].width = width
    for name, text in facts_of(sheet, rows):
        leaf.append([_head(leaf, name), _text(leaf, text)])
    leaf.append([])
    leaf.append([_head(leaf, text) for text in HEADS])
    for row in columns_of(sheet):
        leaf.append([_text(leaf, f"{value or ''}") for value in row])


def heads_of(column: Column) -> tuple[str, ...]:
    """The heads of a column for people: `Late by (min)`; `Limit (ward time)`, `Limit (UTC)`."""
    if column.shape is Shape.INSTANT:
        return (f"{column.title} (ward time)", f"{column.title} (UTC)")
    return (f"{column.title} ({column.unit})" if column.unit else column.title,)


def _widths(columns: Iterable[Column]) -> Iterator[int]:
    for column in columns:
        for head in heads_of(column):
            yield max(WIDTH.get(column.shape, TEXT_WIDTH), len(head) + 2)


def _cells(leaf: Leaf, sheet: Sheet, row: Iterable[Plain]) -> Iterator[object]:
    for column, value in zip(sheet.columns, row, strict=True):
        if column.shape is Shape.INSTANT:
            yield from _instants(leaf, value, sheet.about.zone)
        elif isinstance(value, str):
            yield _text(leaf, column.words.get(value, value))
        else:
            yield _cell(leaf, value)


def _instants(leaf: Leaf, value: Plain, zone: ZoneInfo) -> Iterator[object]:
    """The ward's wall time and UTC, both as dates that a spreadsheet can reckon with."""
    for where in (zone, UTC):
        if isinstance(value, datetime):
            yield _dated(leaf, value.astimezone(where).replace(tzinfo=None), TIME)
        else:
            yield None


def _cell(leaf: Leaf, value: Plain) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return _dated(leaf, value, DAY) if value.year >= FIRST_YEAR else value.isoformat()
    return value


def _dated(leaf: Leaf, value: date, form: str) -> Cell:
    cell: Cell = WriteOnlyCell(leaf, value)  # type: ignore[arg-type]  # it takes days too
    cell.number_format = form
    return cell


def _text(leaf: Leaf, text: str) -> Cell | str:
    """A text as a text, whatever it begins with; what no cell can hold is left out of it."""
    clean = UNWRITABLE.sub("\ufffd", text)[:MOST_CHARACTERS]
    if not clean.startswith((*FORMULA_STARTS, "#")):
        return clean
    cell: Cell = WriteOnlyCell(leaf, clean)
    cell.data_type = "s"
    cell.quotePrefix = True
    return cell


def _head(leaf: Leaf, text: str) -> Cell:
    cell: Cell = WriteOnlyCell(leaf, text)
    cell.font = Font(bold=True)
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell
