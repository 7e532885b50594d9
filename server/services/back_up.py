"""Back the board up into a file while it runs, and put such a file back into an empty database."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from server.services.move_board import move_all
from server.services.on_disk import wait_for_disk
from server.services.rebuild import Rebuilt, rebuild
from server.services.upgrade_database import upgrade_database
from server.store.migrate import is_current, migrate
from server.store.move import Moved, Progress
from server.store.store import Store

NAME: Final = "fourth-hour-{:%Y%m%dT%H%M%SZ}.db"
PATTERN: Final = "fourth-hour-????????T??????Z.db"


def back_up(
    store: Store, folder: Path, *, now: datetime, progress: Progress = lambda *_: None
) -> tuple[Path, Moved]:
    """Write all that is stored at one moment into a new SQLite file in `folder`.

    Whatever the engine of the board, which goes on meanwhile. Every row is compared with what was
    read before the file gets its name, so that a file of that name is whole. Raises `Away`,
    `Conflict`, and OSError where the folder does not take it.
    """
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / NAME.format(now.astimezone(UTC))
    unfinished = file.with_suffix(".part")
    _remove(unfinished)
    try:
        with _opened(unfinished) as copy:
            migrate(copy)
            moved = move_all(store, copy, progress, held=False)
    except BaseException:  # stopped or refused: half a backup is none, and takes room
        _remove(unfinished)
        raise
    wait_for_disk(unfinished)  # a backup is not one before
    unfinished.replace(file)
    wait_for_disk(folder)
    return file, moved


def keep_newest(folder: Path, keep: int) -> tuple[Path, ...]:
    """Delete all but the `keep` newest backups of a folder; those that went."""
    gone = tuple(sorted(folder.glob(PATTERN))[:-keep])
    for file in gone:
        file.unlink()
    return gone


def restore(
    file: Path, target: Store, *, now: datetime, progress: Progress = lambda *_: None
) -> tuple[Moved, Rebuilt]:
    """Put a backup into an empty database, and work every unit out anew.

    Answers what was put back, and which units' rows were not what the facts say or cannot be worked
    out: none for a sound backup. The file is only read; of an older schema, a copy is brought to
    the newest. Raises `Conflict`, `Away`, and OSError where there is no such file.
    """
    file.stat()
    migrate(target)
    with TemporaryDirectory(prefix="fourth-hour-") as folder, _opened(file) as backup:
        if is_current(backup):
            moved = move_all(backup, target, progress, held=False)
        else:
            newest = Path(shutil.copyfile(file, Path(folder, file.name)))
            with _opened(newest) as copy:
                upgrade_database(copy, now=now)
                moved = move_all(copy, target, progress, held=False)
    return moved, rebuild(target, lambda: now)


@contextmanager
def _opened(file: Path) -> Iterator[Store]:
    opened = Store(f"sqlite:///{file}")
    try:
        yield opened
    finally:
        opened.close()


def _remove(file: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        Path(f"{file}{ending}").unlink(missing_ok=True)
