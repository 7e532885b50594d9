"""Note in the audit trail what somebody did."""

from collections.abc import Mapping
from datetime import datetime

from server.domain.audit import NOBODY, AuditAct, AuditEntry, Plain, Subject
from server.services.actor import Actor
from server.store.audit import append_entries
from server.store.sessions import WriteSession


def note(
    session: WriteSession,
    actor: Actor | None,
    act: AuditAct,
    subject: Subject | None = None,
    *,
    now: datetime,
    ward_id: str | None = None,
    patient_id: str | None = None,
    detail: Mapping[str, Plain] | None = None,
) -> None:
    """Note an act in the transaction that does it: without the note there is no act.

    `actor` None: nobody was signed in. `detail` holds plain words, whole numbers and lists of
    words; never a patient's name or value, a password, or anything typed that may be one.
    """
    who = NOBODY if actor is None else (actor.id, actor.name, actor.role.value)
    entry = AuditEntry(
        now,
        *who,
        act,
        access_id=None if actor is None else actor.access_id,
        subject=subject,
        ward_id=ward_id,
        patient_id=patient_id,
        detail=detail or {},
    )
    append_entries(session, [entry])
