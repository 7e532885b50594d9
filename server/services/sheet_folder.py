"""The folder of paper sheets: one file a ward, put in place whole, and whether they are fresh."""

import os
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Final
from urllib.parse import quote

from server.services.on_disk import wait_for_disk

EVERY: Final = timedelta(minutes=3)
OLD_AFTER: Final = 2 * EVERY + timedelta(minutes=1)
"""Two times in a row and a moment more: then nobody writes them."""
LONGEST: Final = 120
SHEETS_BEAT: Final = "sheets"
"""Under this name it is noted when the sheets of all wards were written last."""


def sheet_file(folder: Path, ward_id: str) -> Path:
    """The file of a ward; what an id holds that no file name may is written as `%2F`."""
    safe = quote(ward_id, safe="")
    if len(safe) > LONGEST:
        safe = f"{safe[:LONGEST]}-{sha256(ward_id.encode()).hexdigest()[:16]}"
    return folder / f"ward-{safe}.html"


def put_in_place(file: Path, text: str) -> None:
    """Write a file whole: whoever opens it finds the one before or this one, never a part.

    It is on the disk before it takes the other's place, so that a power cut leaves one of the two.
    Raises OSError; then the one before stays.
    """
    half = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        with half.open("w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        half.replace(file)
    finally:
        half.unlink(missing_ok=True)
    with suppress(OSError):  # not every file system offers that for a folder
        wait_for_disk(file.parent)


def sheets_in_words(folder: Path, ward_ids: Iterable[str], *, now: datetime) -> tuple[str, bool]:
    """Say how fresh the sheets of wards are, and whether all of them are."""
    files = {ward_id: sheet_file(folder, ward_id) for ward_id in ward_ids}
    missing = sorted(ward_id for ward_id, file in files.items() if not file.is_file())
    if missing:
        return f"none was written yet of {', '.join(missing)} in {folder}", False
    if not files:
        return f"none to be written in {folder}: there is no ward", True
    oldest = min(_written_at(file) for file in files.values())
    minutes = max(0, int((now - oldest) / timedelta(minutes=1)))
    if now - oldest > OLD_AFTER:
        return f"the oldest in {folder} was written {minutes} min ago: nobody writes them", False
    return f"written {minutes} min ago in {folder}", True


def _written_at(file: Path) -> datetime:
    return datetime.fromtimestamp(file.stat().st_mtime, UTC)
