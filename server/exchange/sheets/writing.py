"""The formats a sheet can be written in."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, Final

from server.exchange.sheets.csv_pair import write_csv_pair
from server.exchange.sheets.sheet import Sheet
from server.exchange.sheets.workbook import write_workbook


@dataclass(frozen=True, slots=True)
class Format:
    """A format: how its file names end, its media type, and what writes it."""

    suffix: str
    media_type: str
    write: Callable[[Sheet, IO[bytes]], int]


FORMATS: Final = {
    "xlsx": Format(
        "xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        write_workbook,
    ),
    "csv": Format("zip", "application/zip", write_csv_pair),
}
