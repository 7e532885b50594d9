"""What a disk may hold after a power cut: an SQLite file and its log, copied in the middle of work.

The process stands still while its files are copied. What it has synced is on the disk; what it
has not may be there, in part, or not at all. One writer at a time syncs each commit before it
begins the next, so that only the last one of the log can be without its sync; and a page that
the log holds may just be on its way into the file. File format: https://sqlite.org/walformat.html
"""

import os
import shutil
import signal
import sqlite3
import struct
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from time import sleep
from typing import Final

HEADER: Final = 32
FRAME_HEADER: Final = 24
SECTOR: Final = 512
ARRIVES_SECONDS: Final = 0.1


@dataclass(frozen=True)
class Log:
    """A write-ahead log: where each of its commits ends, and the pages up to there, by commit."""

    page_bytes: int
    ends: tuple[int, ...]
    pages: tuple[frozenset[int], ...]


@contextmanager
def standing_still(process: int) -> Iterator[None]:
    """Nothing more is written; what was answered before has arrived."""
    os.kill(process, signal.SIGSTOP)
    try:
        sleep(ARRIVES_SECONDS)
        yield
    finally:
        os.kill(process, signal.SIGCONT)


def copy_files(database: Path, target: Path) -> Path:
    """Copy the file and its log, without what only memory holds."""
    shutil.copyfile(database, target)
    log = log_of(database)
    if log.exists():
        shutil.copyfile(log, log_of(target))
    return target


def log_of(database: Path) -> Path:
    """The log beside a file."""
    return database.with_name(f"{database.name}-wal")


def read_log(database: Path) -> Log:
    """Read the log of a file; a log that was written over from its beginning ends at the old."""
    data = log_of(database).read_bytes() if log_of(database).exists() else b""
    if len(data) < HEADER:
        return Log(0, (), ())
    page_bytes, salts = struct.unpack(">I", data[8:12])[0], data[16:24]
    ends, pages, seen = [], [], set[int]()
    for place in range(HEADER, len(data) - FRAME_HEADER, FRAME_HEADER + page_bytes):
        page, size_after = struct.unpack(">II", data[place : place + 8])
        end = place + FRAME_HEADER + page_bytes
        if data[place + 8 : place + 16] != salts or end > len(data):
            break
        seen.add(page)
        if size_after:
            ends.append(end)
            pages.append(frozenset(seen))
    return Log(page_bytes, tuple(ends), tuple(pages))


def cut_last(database: Path, log: Log, chance: Random) -> None:
    """Leave of the last commit only some: up to a byte, or without one sector in its middle."""
    begin, end = log.ends[-2] if len(log.ends) > 1 else HEADER, log.ends[-1]
    with log_of(database).open("r+b") as file:
        if chance.random() < 0.5:
            file.truncate(chance.randrange(begin, end))
            return
        file.seek(chance.randrange(begin, end, SECTOR))
        file.write(bytes(min(SECTOR, end - file.tell())))


def add_torn_frame(database: Path, log: Log, chance: Random) -> None:
    """Add the beginning of a commit that was never finished."""
    if not log.ends:
        return
    with log_of(database).open("r+b") as file:
        file.seek(log.ends[-1])
        file.truncate()
        file.write(chance.randbytes(chance.randrange(1, 3 * log.page_bytes)))


def tear_pages(database: Path, log: Log, commits: int, chance: Random) -> int:
    """Spoil pages of the file that its log holds up to some commit; how many."""
    held = sorted(log.pages[commits - 1]) if commits else []
    torn = [page for page in held if chance.random() < 0.5]
    with database.open("r+b") as file:
        for page in torn:
            file.seek((page - 1) * log.page_bytes)
            file.write(chance.randbytes(log.page_bytes))
    return len(torn)


def events_in(database: Path) -> set[str]:
    """The ids of the events of a file."""
    with closing(sqlite3.connect(database)) as connection:
        return {str(one) for (one,) in connection.execute("SELECT id FROM event")}
