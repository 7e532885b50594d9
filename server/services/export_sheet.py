"""Take a table away as a file: who may, and the note in the audit trail that goes with it."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.audit import AuditAct, Plain, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_ward import read_ward
from server.services.permissions import Act, may, require
from server.store.sessions import ReadSession, WriteSession


@dataclass(frozen=True, slots=True)
class Taken:
    """A file that somebody takes away. `only` says what it was narrowed to; it names no patient."""

    sheet: str
    kind: SubjectKind
    form: str
    rows: int
    only: tuple[str, ...]
    with_identity: bool


def require_export(
    session: ReadSession, actor: Actor, ward_id: str, *, with_identity: bool
) -> None:
    """Raise `NotFound` or `Forbidden` unless the actor may take a ward's file away."""
    read_ward(session, actor, ward_id)
    require(actor, Act.EXPORT_IDENTITY if with_identity else Act.EXPORT, ward_id)


def may_export(actor: Actor, ward_id: str, *, with_identity: bool) -> bool:
    """Whether the actor may take a ward's file away."""
    return may(actor, Act.EXPORT_IDENTITY if with_identity else Act.EXPORT, ward_id)


def export_sheet(
    session: WriteSession, actor: Actor, ward_id: str, taken: Taken, *, now: datetime
) -> None:
    """Note a file that is ready to be handed out: without the note it is not.

    Raises `NotFound`, `Forbidden`.
    """
    require_export(session, actor, ward_id, with_identity=taken.with_identity)
    detail: dict[str, Plain] = {
        "sheet": taken.sheet,
        "format": taken.form,
        "rows": taken.rows,
        "identity": "with" if taken.with_identity else "without",
        "only": "; ".join(taken.only),
    }
    subject = Subject(taken.kind)
    note(session, actor, AuditAct.EXPORTED, subject, now=now, ward_id=ward_id, detail=detail)
