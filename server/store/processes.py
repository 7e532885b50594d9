"""Which processes of the board there are, as each said itself."""

from dataclasses import asdict
from datetime import datetime
from typing import Any, Final

from sqlalchemy import delete, func, select

from server.domain.encoding import read_instant, write_instant
from server.domain.invariants import JobRun, Process
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import upsert
from server.store.tables import PROCESS

_COLUMNS: Final = ("id", "name", "version", "started_at", "seen_at")
_ALL: Final = select(PROCESS).order_by(PROCESS.c.started_at, PROCESS.c.id)
_JOB_INSTANTS: Final = ("began_at", "failing_since")


def keep_process(session: WriteSession, process: Process) -> None:
    """Keep how a process is, over what it said before."""
    said = asdict(process)
    told = {name: value for name, value in said.items() if name not in _COLUMNS}
    told["jobs"] = [_job_told(one) for one in told["jobs"]]
    row = {name: said[name] for name in _COLUMNS} | {"told": told}
    session.run(upsert(session.engine_name, PROCESS.name), row)


def read_processes(session: ReadSession) -> tuple[Process, ...]:
    """All processes that are kept, the one that started first before the others."""
    return tuple(_process(row) for row in session.rows(_ALL))


def forget_process(session: WriteSession, process_id: str) -> None:
    """Forget a process that ended as it should."""
    session.run(delete(PROCESS).where(PROCESS.c.id == process_id))


def forget_processes(session: WriteSession, before: datetime) -> None:
    """Forget the processes that were not seen since an instant."""
    session.run(delete(PROCESS).where(PROCESS.c.seen_at < before))


def database_now(session: ReadSession) -> datetime | None:
    """What the clock of the database's server shows, None beside a file."""
    if session.engine_name == "sqlite":
        return None
    now: datetime = session.value(select(func.clock_timestamp()))
    return now


def _job_told(job: dict[str, Any]) -> dict[str, Any]:
    return {
        name: write_instant(value) if isinstance(value, datetime) else value
        for name, value in job.items()
    }


def _process(row: Any) -> Process:
    told = dict(row.told)
    jobs = tuple(JobRun(**_job_read(one)) for one in told.pop("jobs"))
    return Process(**{name: getattr(row, name) for name in _COLUMNS}, jobs=jobs, **told)


def _job_read(told: dict[str, Any]) -> dict[str, Any]:
    return {
        name: read_instant(value) if name in _JOB_INSTANTS and value else value
        for name, value in told.items()
    }
