"""Hand tables out as a file: written whole, noted in the audit trail, and only then answered."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from tempfile import SpooledTemporaryFile
from typing import IO, Final

from fastapi import Response
from fastapi.responses import StreamingResponse
from starlette.background import BackgroundTask

from server.exchange.sheets import FORMATS, Sheet, without_identity, write_bundle
from server.pages.exports.ground import Ground
from server.pages.exports.tables import Table
from server.pages.setup_screen import Screen
from server.services.export_sheet import Taken, export_sheet, require_export

IN_MEMORY: Final = 8 * 2**20  # bytes; a longer file goes to a disk, without a name there
AT_ONCE: Final = 64 * 2**10  # bytes
ALL_WARDS: Final = "all-wards"
ZIP: Final = ("zip", "application/zip")


@dataclass(frozen=True, slots=True)
class Written:
    """A file without a name, which whoever gets it closes; what of which ward is in it."""

    file: IO[bytes]
    taken: tuple[tuple[Ground, Taken], ...]
    name: str
    media_type: str


def write_table(ground: Ground, table: Table, form: str, *, with_identity: bool) -> Written:
    """Write a table of one ward. Raises `NotFound`, `Forbidden`, `Invalid`, `Wrong`."""
    sheet = _sheet(ground, table, with_identity=with_identity)
    with _written() as file:
        rows = FORMATS[form].write(sheet, file)
    taken = _taken(table, sheet, form, rows)
    name = _name(ground, taken, ward_key(ground.ward.name), FORMATS[form].suffix)
    return Written(file, ((ground, taken),), name, FORMATS[form].media_type)


def write_tables(
    grounds: Sequence[Ground], table: Table, form: str, *, with_identity: bool
) -> Written:
    """Write a table of several wards, each ward's own in one archive. Raises as `write_table`."""
    sheets = [_sheet(ground, table, with_identity=with_identity) for ground in grounds]
    names = distinct([ward_key(ground.ward.name) for ground in grounds])
    with _written() as file:
        pairs = zip(names, sheets, strict=True)
        counts = write_bundle(pairs, form, file, made_at=grounds[0].now)
    taken = tuple(
        (ground, _taken(table, sheet, form, rows))
        for ground, sheet, rows in zip(grounds, sheets, counts, strict=True)
    )
    suffix, media_type = ZIP
    return Written(file, taken, _name(*taken[0], ALL_WARDS, suffix), media_type)


def hand_out(screen: Screen, written: Written) -> Response:
    """Answer a file that was written, noted for each ward before its first byte goes out."""
    try:
        with screen.store.write() as session:
            for ground, taken in written.taken:
                export_sheet(session, ground.actor, ground.ward.id, taken, now=ground.now)
    except BaseException:
        written.file.close()
        raise
    headers = {
        "Content-Disposition": f'attachment; filename="{written.name}"',
        "Content-Length": f"{written.file.tell()}",
        "Cache-Control": "no-store",
    }
    written.file.seek(0)
    return StreamingResponse(
        _chunks(written.file),
        media_type=written.media_type,
        headers=headers,
        background=BackgroundTask(written.file.close),
    )


def ward_key(name: str) -> str:
    """Answer a ward’s name in plain letters, `ward-4`; `ward` where it has none of them."""
    return re.sub("[^a-z0-9]+", "-", name.casefold()).strip("-") or "ward"


def distinct(names: Sequence[str]) -> list[str]:
    """Answer names of which no two are alike: the second `ward-4` is `ward-4_2`."""
    seen: Counter[str] = Counter()
    told = []
    for name in names:
        seen[name] += 1
        told.append(name if seen[name] == 1 else f"{name}_{seen[name]}")
    return told


@contextmanager
def _written() -> Iterator[IO[bytes]]:
    """An open file, closed again where it could not be written whole."""
    file = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - it outlives this function
    try:
        yield file
    except BaseException:
        file.close()
        raise


def _sheet(ground: Ground, table: Table, *, with_identity: bool) -> Sheet:
    require_export(ground.session, ground.actor, ground.ward.id, with_identity=with_identity)
    sheet = table.make(ground)
    return sheet if with_identity else without_identity(sheet)


def _taken(table: Table, sheet: Sheet, form: str, rows: int) -> Taken:
    about = sheet.about
    return Taken(table.name, table.kind, form, rows, about.only, about.with_identity)


def _chunks(file: IO[bytes]) -> Iterator[bytes]:
    while chunk := file.read(AT_ONCE):
        yield chunk


def _name(ground: Ground, taken: Taken, whose: str, suffix: str) -> str:
    """A name of plain letters, whatever the ward is called: `breaches_ward-4_2026-10-01_…`."""
    named = "" if taken.with_identity else "no-names"
    parts = (taken.sheet, whose, *map(str, ground.days), named)
    return f"{'_'.join(part for part in parts if part)}.{suffix}"
