"""A text as a QR code (ISO/IEC 18004), drawn as one path: no picture is fetched, none is kept."""

from dataclasses import dataclass
from itertools import groupby
from typing import Final

import segno

QUIET: Final = 4
"""Modules left empty around it, as the standard asks."""


@dataclass(frozen=True, slots=True)
class QrView:
    """`size` is the side in modules with the quiet zone; `path` draws the dark ones."""

    size: int
    path: str


def qr_view(text: str) -> QrView:
    """Answer a text as it is drawn; a smudge over a seventh of it can be read past (level M)."""
    modules = segno.make_qr(text, error="m", boost_error=False).matrix
    lines = [_line(row, y + QUIET) for y, row in enumerate(modules)]
    return QrView(len(modules) + 2 * QUIET, "".join(lines))


def _line(row: bytearray, y: int) -> str:
    """The dark stretches of one row of modules, each one module high."""
    said, x = [], QUIET
    for dark, stretch in groupby(row):
        width = len(list(stretch))
        if dark:
            said.append(f"M{x} {y}h{width}v1h-{width}z")
        x += width
    return "".join(said)
