"""The paper sheet of a ward, ready to be shown or written into a file."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.picture import Picture
from server.domain.urgency import natural
from server.domain.wording import COMPONENT
from server.domain.words import ClockName, Level
from server.pages.sheets.times import Times
from server.pages.sheets.unit_sheet import UnitSheet, unit_sheet
from server.services.read_board import Board, BoardRow

AWAY: Final = "The database was away when this sheet was made: later entries may be missing."
COLUMNS: Final = ("Time", "Temp {}", "Pulse", "Resp.", "BP", "SpO₂ %", "mL/h", "Initials")


@dataclass(frozen=True, slots=True)
class Watched:
    """A unit that is in, of a patient who is watched for late signs until an instant."""

    bed: str
    patient: str
    record_number: str
    unit_number: str
    until: str


@dataclass(frozen=True, slots=True)
class Blank:
    """A unit that cannot be read: everything but its bed and component is to be written."""

    bed: str
    unit: str


@dataclass(frozen=True, slots=True)
class SheetView:
    """What `sheet/body.html` shows. `known` and `made` are instants in words."""

    ward_name: str
    known: str
    made: str
    zone_text: str
    away: str
    count: int
    columns: tuple[str, ...]
    units: tuple[UnitSheet, ...]
    blank: tuple[Blank, ...]
    watched: tuple[Watched, ...]


def sheet_view(board: Board, known_at: datetime, *, away: bool = False) -> SheetView:
    """Answer the sheet of a ward: its units as they stand at `board.at`, by bed.

    `known_at` is the instant up to which everything recorded is in it; `away`: later entries may
    be missing because the database could not be asked.
    """
    times = Times(board.at, ZoneInfo(board.ward.timezone))
    fahrenheit = board.ward.temperature_unit == "F"
    rows = sorted(board.rows, key=_by_bed)
    units = tuple(
        unit_sheet(row, times, fahrenheit=fahrenheit) for row in rows if is_live(row.picture)
    )
    degree = "°F" if fahrenheit else "°C"
    return SheetView(
        ward_name=board.ward.name,
        known=times.full(known_at),
        made=times.full(board.at),
        zone_text=board.ward.timezone,
        away=AWAY if away else "",
        count=len(units) + len(board.spoilt),
        columns=tuple(column.format(degree) for column in COLUMNS),
        units=units,
        blank=tuple(Blank(one.bed, COMPONENT[one.component]) for one in board.spoilt),
        watched=tuple(_watched(row.picture, times) for row in rows if not is_live(row.picture)),
    )


def is_live(picture: Picture) -> bool:
    """Whether something is still to be done with the unit, beyond watching for late signs."""
    return picture.urgency.level is not Level.CLOSED or bool(picture.episode.open_warnings)


def _by_bed(row: BoardRow) -> tuple[object, ...]:
    request = row.picture.case.request
    return natural(request.bed), request.patient_id, request.n, request.id


def _watched(picture: Picture, times: Times) -> Watched:
    patient = picture.case.patient
    until = [
        clock.limit_at
        for clock, _ in picture.clocks
        if clock.name is ClockName.LATE_WATCH and clock.limit_at is not None
    ]
    return Watched(
        bed=picture.case.request.bed,
        patient=patient.full_name,
        record_number=patient.record_number,
        unit_number=picture.episode.unit_number or "",
        until=times.dated(until[0]) if until else "",
    )
