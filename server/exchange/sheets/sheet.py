"""A sheet: columns that say what they hold, rows of plain values, and what the whole is about."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

Plain = str | int | float | date | datetime | None
Cells = tuple[Plain, ...]


class Shape(StrEnum):
    """What kind of value a column holds. Instants are written twice: in UTC and in ward time."""

    TEXT = "text"
    NUMBER = "number"
    YES_NO = "yes or no"
    DAY = "day"
    INSTANT = "instant"


class Holds(StrEnum):
    """What a column says about who the patient is."""

    NOBODY = "nobody"
    PATIENT = "patient"
    """Which patient it is: without identity a number that holds in one file only."""
    IDENTITY = "identity"
    """Who the patient is, or a text in which somebody may be named: left out without identity."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name as in the JSON, its words for people, its unit, where it comes from.

    `words` say a coded value to people; programs get the code.
    """

    name: str
    title: str
    shape: Shape = Shape.TEXT
    unit: str = ""
    note: str = ""
    source: str = ""
    holds: Holds = Holds.NOBODY
    words: Mapping[str, str] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """The heads of its cells for programs: `late_minutes`; `limit_at`, `limit_at_ward_time`."""
        is_instant = self.shape is Shape.INSTANT
        return (self.name, f"{self.name}_ward_time") if is_instant else (self.name,)


@dataclass(frozen=True, slots=True)
class About:
    """What a file says of itself. `only` tells what it was narrowed to, `facts` what else is so.

    `made_by` is the role of whoever took it away; who it was stands in the audit trail.
    """

    title: str
    ward: str
    zone: ZoneInfo
    made_at: datetime
    made_by: str
    version: str
    only: tuple[str, ...]
    facts: tuple[tuple[str, str], ...] = ()
    with_identity: bool = True


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table for a file. The rows can be gone through once: they may come from a database."""

    name: str
    about: About
    columns: tuple[Column, ...]
    rows: Iterable[Cells]


def without_identity(sheet: Sheet) -> Sheet:
    """The same sheet without who its patients are: their numbers hold in this file only."""
    kept = [n for n, column in enumerate(sheet.columns) if column.holds is not Holds.IDENTITY]
    columns = tuple(_unnamed(sheet.columns[n]) for n in kept)
    return replace(
        sheet,
        about=replace(sheet.about, with_identity=False),
        columns=columns,
        rows=_unnamed_rows(sheet.rows, kept, columns),
    )


def _unnamed(column: Column) -> Column:
    if column.holds is not Holds.PATIENT:
        return column
    return Column(
        "patient", "Patient", note="A number that holds in this file only", holds=column.holds
    )


def _unnamed_rows(
    rows: Iterable[Cells], kept: list[int], columns: tuple[Column, ...]
) -> Iterator[Cells]:
    of_patient = frozenset(
        n for n, one in zip(kept, columns, strict=True) if one.holds is Holds.PATIENT
    )
    numbers: dict[Plain, str] = {}
    for row in rows:
        yield tuple(
            numbers.setdefault(row[n], f"patient {len(numbers) + 1}") if n in of_patient else row[n]
            for n in kept
        )
