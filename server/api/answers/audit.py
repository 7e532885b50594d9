"""The audit trail, as answered: each row as it was hashed, so that anybody can do so again."""

from dataclasses import asdict

from server.api.fields import Given
from server.api.instants import Moment
from server.services.check_audit import Checked
from server.services.read_audit import Trail


class AuditRowAnswer(Given):
    """One row, its columns in the order in which they are hashed; `detail` is JSON as text."""

    position: int
    at: str
    actor_id: str
    actor_name: str
    actor_role: str
    access_id: str | None
    act: str
    subject_kind: str | None
    subject_id: str | None
    ward_id: str | None
    patient_id: str | None
    detail: str
    previous: str
    hash: str


class CheckedAnswer(Given):
    """When the chain was last checked, and up to where it is whole; `broken` says what is not."""

    at: Moment
    position: int
    hash: str
    broken: str | None


class AuditAnswer(Given):
    """The rows, the newest first; `older` is the `before` of those that follow."""

    rows: list[AuditRowAnswer]
    older: int | None
    checked: CheckedAnswer | None


def audit_answer(trail: Trail) -> AuditAnswer:
    """A page of the trail."""
    return AuditAnswer(
        rows=[AuditRowAnswer(**asdict(row)) for row in trail.rows],
        older=None if trail.older is None else trail.older.before,
        checked=None if trail.checked is None else _checked(trail.checked),
    )


def _checked(checked: Checked) -> CheckedAnswer:
    return CheckedAnswer(
        at=checked.at,
        position=checked.head.position,
        hash=checked.head.hash,
        broken=checked.broken or None,
    )
