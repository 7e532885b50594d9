"""What this process says of itself, so that every other can show it and judge it."""

import logging
import shutil
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Final

from sqlalchemy import make_url

from server import __version__
from server.clock import Clock
from server.domain.invariants import JobRun, Process
from server.key_file import key_path
from server.logs.lines import PROCESS
from server.services.board_key import BoardKey
from server.settings import Settings
from server.store.errors import Away
from server.store.ids import new_id
from server.store.processes import database_now, forget_process, keep_process
from server.store.store import Store

EVERY_SECONDS: Final = 15.0
LEAVE_SECONDS: Final = 1.0
HALF_A_SECOND: Final = timedelta(seconds=0.5)
"""The clock is cut to the second: on average it shows as much too little."""

_LOG: Final = logging.getLogger(__name__)


@dataclass(slots=True)
class Presence:
    """One thread that says every quarter of a minute how this process is.

    `runs` answers the last runs of its jobs. While the database is away nothing is said.
    """

    store: Store
    settings: Settings
    clock: Clock
    runs: Callable[[], tuple[JobRun, ...]] = tuple
    _id: str = field(default_factory=new_id)
    _over: Event = field(default_factory=Event)
    _thread: Thread | None = None

    def start(self) -> None:
        """Begin; it is said for the first time at once."""
        self._thread = Thread(target=self._run, args=(self.clock(),), name="presence", daemon=True)
        self._thread.start()

    def stop(self, *, is_away: bool = False) -> None:
        """End, and be forgotten: a process that ended as it should is not missed.

        `is_away`: the database is, and nobody waits for it.
        """
        self._over.set()
        if self._thread is None:
            return
        self._thread.join(LEAVE_SECONDS)
        if is_away or self._thread.is_alive():
            return
        with suppress(Away), self.store.write() as session:
            forget_process(session, self._id)

    def say(self, started_at: datetime) -> None:
        """Say how this process is now. Raises `Away`."""
        said = process_as_it_is(
            self.store, self.settings, self.clock, started_at=started_at, runs=self.runs()
        )
        with self.store.write() as session:
            keep_process(session, replace(said, id=self._id))

    def _run(self, started_at: datetime) -> None:
        while True:
            try:
                with suppress(Away):  # the feed says so
                    self.say(started_at)
            except Exception:  # noqa: BLE001 - whatever it is, it is tried again
                _LOG.exception("how this process is could not be said")
            if self._over.wait(EVERY_SECONDS):
                return


def process_as_it_is(
    store: Store,
    settings: Settings,
    clock: Clock,
    *,
    started_at: datetime,
    runs: tuple[JobRun, ...] = (),
) -> Process:
    """This process, its clock beside the database's, its key and the room that it has.

    Raises `Away`.
    """
    return Process(
        id="",
        name=PROCESS,
        version=__version__,
        started_at=started_at,
        seen_at=clock(),
        may_lead=settings.run_jobs,
        leads=store.lead.was_held,
        clock_ahead=_clock_ahead(store, clock),
        key=_key_mark(settings),
        free=_free(settings),
        jobs=runs,
    )


def _clock_ahead(store: Store, clock: Clock) -> float | None:
    """By how much at least: the answer was true at some instant between asking and hearing it."""
    with store.read() as session:
        asked_at = clock()
        theirs = database_now(session)
        heard_at = clock()
    if theirs is None:
        return None
    nearest = min(max(asked_at + HALF_A_SECOND, theirs), heard_at + HALF_A_SECOND)
    return round((nearest - theirs).total_seconds(), 1)


def _key_mark(settings: Settings) -> str:
    """What tells one key from another and gives nothing of it away; empty without one."""
    try:
        return BoardKey(key_path(settings).read_bytes()).digest("mark")[:16]
    except OSError:
        return ""


def writes_to(settings: Settings) -> tuple[Path, ...]:
    """The folders that a process of the board writes to; that of a server's disk is not here."""
    address = make_url(settings.database)
    folders = [] if settings.sheets is None else [settings.sheets]
    if address.get_backend_name() == "sqlite" and address.database:
        folders.append(Path(address.database).resolve().parent)
    return tuple(folders)


def _free(settings: Settings) -> dict[str, int]:
    """Where a folder has gone there is room for nothing."""
    return {f"{folder}": _free_in(folder) for folder in writes_to(settings)}


def _free_in(folder: Path) -> int:
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return 0
