"""What a file says of itself, in rows: what it holds, of which ward, what each column means."""

from typing import Final

from server.domain.encoding import write_instant
from server.exchange.sheets.sheet import About, Cells, Column, Shape, Sheet
from server.services.unreadable import noticed

CAUTION: Final = (
    "Fourth Hour supports, and does not replace, local policy, the laboratory’s issue decision and "
    "professional judgement. It is not a medical device."
)
WITH_IDENTITY: Final = "With patient identity: keep it as you keep the notes."
WITHOUT_IDENTITY: Final = (
    "Without patient identity: no name, record number, date of birth, bed or free text; a patient "
    "is a number that holds in this file only. With the laboratory’s records a unit number still "
    "leads to a person."
)
HEADS: Final = ("Column", "In words", "Kind", "Unit", "What it is", "Source")
KIND: Final = {
    Shape.TEXT: "text",
    Shape.NUMBER: "number",
    Shape.YES_NO: "yes or no",
    Shape.DAY: "day",
    Shape.INSTANT: "time",
}


def facts_of(sheet: Sheet, rows: int) -> tuple[tuple[str, str], ...]:
    """What the file holds, two cells a row; its rows were all written by now."""
    about = sheet.about
    made = about.made_at.astimezone(about.zone)
    return (
        ("What", about.title),
        ("Ward", about.ward),
        *(("Only", one) for one in about.only),
        ("Rows", f"{rows}"),
        *_left_out(about),
        ("Made", f"{made:%Y-%m-%d %H:%M:%S} ward time ({write_instant(about.made_at)})"),
        ("Made by", f"{about.made_by}; who it was stands in the audit trail"),
        ("Made with", f"Fourth Hour {about.version}"),
        ("Patients", WITH_IDENTITY if about.with_identity else WITHOUT_IDENTITY),
        (
            "Times",
            f"Each time stands twice: in UTC, and as the clock of the ward ({about.zone.key})",
        ),
        ("Empty cells", "Not recorded, or not so"),
        *about.facts,
        ("Caution", CAUTION),
    )


def _left_out(about: About) -> tuple[tuple[str, str], ...]:
    """The units that a file lacks because their facts cannot be read."""
    units = [one.id if about.with_identity else "" for one in noticed()]
    if not units:
        return ()
    named = f": {', '.join(units)}" if about.with_identity else ""
    many = f"{len(units)} unit{'' if len(units) == 1 else 's'}"
    return (("Left out", f"{many} of which nothing recorded can be read{named}"),)


def columns_of(sheet: Sheet) -> tuple[Cells, ...]:
    """What each column means, one row a column below `HEADS`."""
    return tuple(_row(column) for column in sheet.columns)


def _row(column: Column) -> Cells:
    return (
        ", ".join(column.names),
        column.title,
        KIND[column.shape],
        column.unit,
        column.note,
        column.source,
    )
