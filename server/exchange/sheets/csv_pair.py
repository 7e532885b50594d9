"""A sheet as two CSV files in one archive: the rows alone, and what they are about beside them.

The rows stay what any program reads: one header line and lines of equal width (RFC 4180). What the
file has to say of itself has no place among them, and travels in the same archive.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import IO, Final
from zoneinfo import ZoneInfo

from server.exchange.csv_lines import csv_line
from server.exchange.sheets.archive import DatedArchive
from server.exchange.sheets.saying import HEADS, columns_of, facts_of
from server.exchange.sheets.sheet import Cells, Column, Plain, Shape, Sheet

ABOUT: Final = "about.csv"


def write_csv_pair(sheet: Sheet, file: IO[bytes]) -> int:
    """Write a sheet into an open file and answer how many rows it had."""
    with DatedArchive(file, sheet.about.made_at) as archive:
        return put_csv_pair(sheet, archive)


def put_csv_pair(sheet: Sheet, archive: DatedArchive, folder: str = "") -> int:
    """Put both files into an archive, in a folder `name/` of it; answer how many rows there are."""
    rows = 0
    with archive.entry(f"{folder}{sheet.name}.csv") as entry:
        entry.write(_line(name for column in sheet.columns for name in column.names))
        for row in sheet.rows:
            entry.write(_line(_cells(sheet.columns, row, sheet.about.zone)))
            rows += 1
    archive.writestr(f"{folder}{ABOUT}", b"".join(_about(sheet, rows)))
    return rows


def _about(sheet: Sheet, rows: int) -> Iterator[bytes]:
    """Lines of equal width as well: what the file holds, then what each column means."""
    rest = (None,) * (len(HEADS) - 2)
    for fact in facts_of(sheet, rows):
        yield _line((*fact, *rest))
    yield _line(HEADS)
    yield from map(_line, columns_of(sheet))


def _cells(columns: tuple[Column, ...], row: Cells, zone: ZoneInfo) -> Iterator[Plain]:
    for column, value in zip(columns, row, strict=True):
        yield value
        if column.shape is Shape.INSTANT:
            yield _ward_time(value, zone) if isinstance(value, datetime) else None


def _ward_time(instant: datetime, zone: ZoneInfo) -> str:
    """With its offset: at the end of summer a clock on the wall shows an hour twice."""
    return instant.astimezone(zone).isoformat(timespec="seconds")


def _line(values: Iterable[Plain]) -> bytes:
    return f"{csv_line(values)}\r\n".encode()
