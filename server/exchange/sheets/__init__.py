"""Sheets: one table for a file, with its units, its sources and what it was narrowed to."""

from server.exchange.sheets.bundle import write_bundle
from server.exchange.sheets.sheet import (
    About,
    Cells,
    Column,
    Holds,
    Plain,
    Shape,
    Sheet,
    without_identity,
)
from server.exchange.sheets.writing import FORMATS, Format

__all__ = [
    "FORMATS",
    "About",
    "Cells",
    "Column",
    "Format",
    "Holds",
    "Plain",
    "Shape",
    "Sheet",
    "without_identity",
    "write_bundle",
]
