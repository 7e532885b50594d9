"""Hand a table out as a file: written whole, noted in the audit trail, and only then answered."""

import re
from collections.abc import Iterator
from tempfile import SpooledTemporaryFile
from typing import IO, Final

from fastapi import Response
from fastapi.responses import StreamingResponse
from starlette.background import BackgroundTask

from server.exchange.sheets import FORMATS, without_identity
from server.pages.exports.ground import Ground
from server.pages.exports.tables import Table
from server.pages.setup_screen import Screen
from server.services.export_sheet import Taken, export_sheet, require_export

IN_MEMORY: Final = 8 * 2**20  # bytes; a longer file goes to a disk, without a name there
AT_ONCE: Final = 64 * 2**10  # bytes


def write_table(
    ground: Ground, table: Table, form: str, *, with_identity: bool
) -> tuple[IO[bytes], Taken]:
    """Write a table into a file without a name, which whoever gets it closes.

    Raises `NotFound`, `Forbidden`, `Invalid`, `Wrong`.
    """
    ward_id = ground.ward.id
    require_export(ground.session, ground.actor, ward_id, with_identity=with_identity)
    sheet = table.make(ground)
    file = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - it outlives this function
    try:
        rows = FORMATS[form].write(sheet if with_identity else without_identity(sheet), file)
    except BaseException:
        file.close()
        raise
    return file, Taken(table.name, table.kind, form, rows, sheet.about.only, with_identity)


def hand_out(screen: Screen, ground: Ground, file: IO[bytes], taken: Taken) -> Response:
    """Answer a file that was written, noted before its first byte goes out."""
    try:
        with screen.store.write() as session:
            export_sheet(session, ground.actor, ground.ward.id, taken, now=ground.now)
    except BaseException:
        file.close()
        raise
    headers = {
        "Content-Disposition": f'attachment; filename="{_name(ground, taken)}"',
        "Content-Length": f"{file.tell()}",
        "Cache-Control": "no-store",
    }
    file.seek(0)
    return StreamingResponse(
        _chunks(file),
        media_type=FORMATS[taken.form].media_type,
        headers=headers,
        background=BackgroundTask(file.close),
    )


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    while chunk := file.read(AT_ONCE):
        yield chunk


def _name(ground: Ground, taken: Taken) -> str:
    """A name of plain letters, whatever the ward is called: `breaches_ward-4_2026-10-01_…`."""
    ward = re.sub("[^a-z0-9]+", "-", ground.ward.name.casefold()).strip("-")
    named = "" if taken.with_identity else "no-names"
    parts = (taken.sheet, ward, *map(str, ground.days), named)
    return f"{'_'.join(part for part in parts if part)}.{FORMATS[taken.form].suffix}"
