"""The formats a sheet can be written in."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, Final

from server.exchange.sheets.csv_pair import write_csv_pair
from server.exchange.sheets.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Format:
    """A format: how its file names end, its media type, and what writes it."""

    suffix: str
    media_type: str
    write: Callable[[Sheet, IO[bytes]], int]


def write_workbook(sheet: Sheet, file: IO[bytes]) -> int:
    """Write a sheet into an open file and answer how many rows it had."""
    # Loading it is a twelfth of every start, and few processes ever write a workbook.
    from server.exchange.sheets import workbook  # noqa: PLC0415

    return workbook.write_workbook(sheet, file)


FORMATS: Final = {
    "xlsx": Format(
        "xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        write_workbook,
    ),
    "csv": Format("zip", "application/zip", write_csv_pair),
}
