"""Note who saw what of a patient: once a quarter of an hour, after it was answered.

A look is answered first and noted at once after it, in a short transaction of its own that takes
along whatever waits to be noted, so that looks never keep a fact waiting for longer than one
commit. A trail that cannot be written keeps nobody from a patient: the log says so at once, the
looks wait and are noted with the instant at which they were taken, and the trail then says that
they came late.
"""

import logging
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import Final

from server.domain.audit import AuditAct, AuditEntry, Plain, Subject, SubjectKind
from server.domain.encoding import write_instant
from server.services.actor import SYSTEM, Actor
from server.store.audit import append_entries
from server.store.audit_subjects import Concerned, concerned_by_episode, concerned_by_patient
from server.store.sessions import ReadSession
from server.store.store import Store

ONCE_IN_SECONDS: Final = 15 * 60
MOST_WAITING: Final = 10_000

_LOG: Final = logging.getLogger(__name__)
_OF_EPISODE: Final = frozenset(
    {SubjectKind.EPISODE, SubjectKind.RECORD, SubjectKind.REACTION, SubjectKind.IDENTITY}
)


@dataclass(frozen=True, slots=True)
class View:
    """Somebody was answered with something of a patient."""

    actor: Actor
    subject: Subject
    ward_id: str | None
    seen_at: datetime


class Views:
    """The looks of one process. Of several at once one writer writes all, and nobody waits.

    The same look by the same person in the same session counts once in each quarter of an hour:
    pages refresh themselves, and programs ask every few seconds.
    """

    def __init__(self, store: Store, *, most_waiting: int = MOST_WAITING) -> None:
        self._store = store
        self._most_waiting = most_waiting
        self._guard, self._writing = Lock(), Lock()
        self._quarter = 0
        self._seen: set[tuple[str, str | None, Subject, str | None]] = set()
        self._waiting: list[View] = []
        self._late = 0
        self._lost = 0

    def see(self, view: View) -> bool:
        """Take note of a look; whether `write` is to be called then.

        That is for a new look, and for any as long as others could not be noted: whoever looks
        next has them noted, however often it was the same look.
        """
        actor, quarter = view.actor, int(view.seen_at.timestamp()) // ONCE_IN_SECONDS
        look = (actor.id, actor.access_id, view.subject, view.ward_id)
        with self._guard:
            if quarter != self._quarter:
                self._quarter = quarter
                self._seen.clear()
            if look in self._seen:
                return self._late > 0
            self._seen.add(look)
            self._keep(view)
        return True

    def _keep(self, view: View) -> None:
        if len(self._waiting) < self._most_waiting:
            self._waiting.append(view)
        else:
            self._lost += 1

    def write(self) -> None:
        """Write what waits. Returns at once where another thread is at it; never raises."""
        while self._waiting and self._writing.acquire(blocking=False):
            try:
                is_written = self._write_all()
            finally:
                self._writing.release()
            if not is_written:
                return

    def _write_all(self) -> bool:
        with self._guard:
            views, late, lost = tuple(self._waiting), self._late, self._lost
        try:
            with self._store.write() as session:
                entries = [_entry(session, view) for view in views]
                append_entries(session, [*entries, *_lateness(views, late, lost)])
        except Exception:  # noqa: BLE001 - whoever looks at a patient is never kept from it
            with self._guard:
                self._late = len(views)
            if not late:  # said once: while the database is away every open board looks again
                _LOG.exception("THE AUDIT TRAIL CANNOT BE WRITTEN: %d looks wait", len(views))
            return False
        with self._guard:
            del self._waiting[: len(views)]
            self._late, self._lost = 0, self._lost - lost
        return True


def _lateness(views: tuple[View, ...], late: int, lost: int) -> Iterable[AuditEntry]:
    """What the trail says of looks that could not be noted when they were taken."""
    if not late:
        return
    first, last = views[0].seen_at, views[-1].seen_at
    detail: dict[str, Plain] = {
        "views": late,
        "lost": lost,
        "from": write_instant(first),
        "until": write_instant(last),
    }
    yield AuditEntry(last, *_who(SYSTEM), AuditAct.VIEWS_LATE, detail=detail)


def _entry(session: ReadSession, view: View) -> AuditEntry:
    concerned = _concerned(session, view.subject)
    return AuditEntry(
        view.seen_at,
        *_who(view.actor),
        AuditAct.VIEWED,
        access_id=view.actor.access_id,
        subject=view.subject,
        ward_id=view.ward_id or concerned.ward_id,
        patient_id=concerned.patient_id,
    )


def _concerned(session: ReadSession, subject: Subject) -> Concerned:
    if subject.id is None:
        return Concerned()
    if subject.kind in _OF_EPISODE:
        return concerned_by_episode(session, subject.id)
    if subject.kind is SubjectKind.PATIENT:
        return concerned_by_patient(session, subject.id)
    return Concerned()


def _who(actor: Actor) -> tuple[str, str, str]:
    return actor.id, actor.name, actor.role.value
