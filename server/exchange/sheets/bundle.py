"""Sheets of several wards in one archive: each whole, as it would be taken from its ward alone.

One table for all would need one zone, and one policy, for times and limits of many.
"""

from collections.abc import Iterable
from datetime import datetime
from shutil import copyfileobj
from tempfile import SpooledTemporaryFile
from typing import IO, Final

from server.exchange.sheets.archive import DatedArchive
from server.exchange.sheets.csv_pair import put_csv_pair
from server.exchange.sheets.sheet import Sheet
from server.exchange.sheets.writing import write_workbook

IN_MEMORY: Final = 8 * 2**20  # bytes
CSV: Final = "csv"


def write_bundle(
    named: Iterable[tuple[str, Sheet]], form: str, file: IO[bytes], *, made_at: datetime
) -> tuple[int, ...]:
    """Write sheets into an open file, each under its name, which no two may share.

    Answers how many rows each had: as workbooks, or with `form` "csv" a folder each.
    """
    with DatedArchive(file, made_at) as archive:
        put = _put_csv if form == CSV else _put_workbook
        return tuple(put(archive, name, sheet) for name, sheet in named)


def _put_csv(archive: DatedArchive, name: str, sheet: Sheet) -> int:
    return put_csv_pair(sheet, archive, f"{name}/")


def _put_workbook(archive: DatedArchive, name: str, sheet: Sheet) -> int:
    with SpooledTemporaryFile(IN_MEMORY) as book:
        rows = write_workbook(sheet, book)
        book.seek(0)
        with archive.entry(f"{name}.xlsx") as entry:
            copyfileobj(book, entry)
    return rows
