"""What staff are trained for, and the beds and fixed duties of each shift."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from sqlalchemy import delete, select

from server.domain.encoding import decode_as, encode
from server.domain.workload.capacity import Duty
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, in_chunks, one_of, upsert
from server.store.tables import SHIFT_WORK, TRAINING


@dataclass(frozen=True, slots=True)
class Training:
    """To check, start and watch a unit; to be the second checker; skills as the ward names them."""

    may_start: bool = True
    may_second: bool = True
    skills: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ShiftWork:
    """The beds that somebody was given for a shift, none: no beds in particular; fixed duties."""

    beds: frozenset[str] = frozenset()
    duties: tuple[Duty, ...] = ()


_TRAINED: Final = select(TRAINING).where(one_of(TRAINING.c.staff_id))
_WORK: Final = select(SHIFT_WORK).where(one_of(SHIFT_WORK.c.shift_id))


def save_training(session: WriteSession, staff_id: str, training: Training) -> None:
    """Keep what somebody is trained for. `Clash`: nobody of that id."""
    row = {
        "staff_id": staff_id,
        "may_start": training.may_start,
        "may_second": training.may_second,
        "skills": sorted(training.skills),
    }
    session.run(upsert(session.engine_name, TRAINING.name), row)


def read_training(session: ReadSession, staff_ids: Iterable[str]) -> dict[str, Training]:
    """What these people are trained for, those left out of whom nothing was entered."""
    return {
        row.staff_id: Training(row.may_start, row.may_second, frozenset(row.skills))
        for chunk in in_chunks(sorted(set(staff_ids)))
        for row in session.rows(_TRAINED, {IDS: chunk})
    }


def save_shift_work(session: WriteSession, shift_id: str, work: ShiftWork) -> None:
    """Keep the beds and duties of a shift. `Clash`: no such shift."""
    row = {
        "shift_id": shift_id,
        "beds": sorted(work.beds),
        "duties": [encode(duty) for duty in work.duties],
    }
    session.run(upsert(session.engine_name, SHIFT_WORK.name), row)


def remove_shift_work(session: WriteSession, shift_id: str) -> None:
    """Forget the beds and duties of a shift."""
    session.run(delete(SHIFT_WORK).where(SHIFT_WORK.c.shift_id == shift_id))


def read_shift_work(session: ReadSession, shift_ids: Iterable[str]) -> dict[str, ShiftWork]:
    """The beds and duties of these shifts, those left out of which nothing was entered."""
    return {
        row.shift_id: ShiftWork(
            frozenset(row.beds), tuple(decode_as(Duty, duty) for duty in row.duties)
        )
        for chunk in in_chunks(sorted(set(shift_ids)))
        for row in session.rows(_WORK, {IDS: chunk})
    }
