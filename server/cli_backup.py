"""Backups at the command line: one now, or one every few hours; and putting one back."""

import argparse
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from time import sleep
from typing import Final

from server.clock import Clock
from server.services.back_up import back_up, keep_newest, restore
from server.services.backups import Backup, note_backup
from server.store.move import Progress
from server.store.store import Store

KEEP: Final = 28

Wait = Callable[[float], object]


def add_backup_options(command: argparse.ArgumentParser) -> None:
    """What may be asked of a backup."""
    command.add_argument("folder", type=Path, help="where the files go")
    command.add_argument(
        "--keep", type=_count, default=KEEP, metavar="N", help=f"the newest that stay; {KEEP}"
    )
    command.add_argument(
        "--every", type=_hours, metavar="HOURS", help="go on, with one every so many hours"
    )


def add_restore_options(command: argparse.ArgumentParser) -> None:
    """What may be asked of putting one back."""
    command.add_argument("file", type=Path, help="a file that `backup` wrote")


def run_backup(
    store: Store,
    options: argparse.Namespace,
    *,
    clock: Clock,
    bar: Progress,
    wait: Wait = sleep,
) -> int:
    """Write one backup, or one every so often until the process is stopped; 0."""
    while True:
        begun = clock()
        file, moved = back_up(store, options.folder, now=begun, progress=bar)
        note_backup(store, Backup(begun, file.name, options.every))
        print(
            f"{file}: {moved.rows} rows of {moved.tables} tables, compared one by one", flush=True
        )
        for gone in keep_newest(options.folder, options.keep):
            print(f"{gone}: deleted", flush=True)
        if options.every is None:
            return 0
        wait(options.every.total_seconds())


def run_restore(store: Store, options: argparse.Namespace, *, now: datetime, bar: Progress) -> int:
    """Put a backup back, and say what was found; 1 if anything was not sound."""
    moved, rebuilt = restore(options.file, store, now=now, progress=bar)
    print(f"{moved.rows} rows of {moved.tables} tables were put back, and compared one by one")
    print(f"every unit was worked out anew: {len(rebuilt.differed)} differed")
    for unit in rebuilt.unreadable:
        print(f"unread    {unit}: what is recorded of it cannot be read, here as in the backup")
    return 1 if rebuilt.differed or rebuilt.unreadable else 0


def _count(text: str) -> int:
    """How many. Raises ValueError, which argparse says in its own words."""
    count = int(text)
    if count < 1:
        raise ValueError(text)
    return count


def _hours(text: str) -> timedelta:
    hours = float(text)
    if not 0 < hours <= 24 * 31:
        raise ValueError(text)
    return timedelta(hours=hours)
