"""The chain of the audit trail: what exactly is hashed, and where a chain is broken.

A row of the table `audit` is hashed as the JSON array of its columns in their order, without the
last:

    [position, at, actor_id, actor_name, actor_role, access_id, act, subject_kind, subject_id,
     ward_id, patient_id, detail, previous]

`position` is a number, an empty column is null, everything else is the text that the column
holds: `at` as 2026-01-31T10:00:00Z, `detail` as JSON with its names in order. The array is
written without spaces; what is not ASCII is escaped as RFC 8259, section 7, has it, by four
lower-case hexadecimal digits for each UTF-16 code unit. `hash` is the SHA-256 (FIPS 180-4) of
those bytes in lower-case hexadecimal; `previous` is the `hash` of the row before, 64 zeros in
row 1. Positions count up by one.
"""

import json
from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import sha256
from typing import Final

from server.domain.audit import AuditEntry
from server.domain.encoding import write_instant


@dataclass(frozen=True, slots=True)
class Head:
    """The end of a chain: the place and the hash of its last row."""

    position: int
    hash: str


BEGINNING: Final = Head(0, "0" * 64)


@dataclass(frozen=True, slots=True)
class Link:
    """One row as it is stored; the order of the fields is the order in which they are hashed."""

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
    hash: str = ""

    @property
    def head(self) -> Head:
        """The head of a chain that ends with this row."""
        return Head(self.position, self.hash)


class Fault(StrEnum):
    """What is wrong with the first row that is not as it was written."""

    MISSING = "missing"
    ALTERED = "altered"
    MOVED = "moved"
    UNLINKED = "unlinked"
    OTHER_HEAD = "other_head"
    CUT_OFF = "cut_off"


@dataclass(frozen=True, slots=True)
class Break:
    """The place of the first row that is not as it was written, and what is wrong with it."""

    position: int
    fault: Fault

    @property
    def words(self) -> str:
        """The sentence for an auditor."""
        return _WORDS[self.fault].format(at=self.position, before=self.position - 1)


_WORDS: Final = {
    Fault.MISSING: "row {at} is missing",
    Fault.ALTERED: "row {at} was altered",
    Fault.MOVED: "row {at} stands in another place than it was written",
    Fault.UNLINKED: "row {at} does not follow from row {before}: one of the two was rewritten",
    Fault.OTHER_HEAD: "row {at} has another hash than was noted: it or one before was rewritten",
    Fault.CUT_OFF: "row {at} was noted as the head and is gone: the end was cut off",
}


def chained(entry: AuditEntry, head: Head) -> Link:
    """Answer the row that an entry becomes after the head of the chain."""
    subject = entry.subject
    link = Link(
        position=head.position + 1,
        at=write_instant(entry.at),
        actor_id=entry.actor_id,
        actor_name=entry.actor_name,
        actor_role=entry.actor_role,
        access_id=entry.access_id,
        act=entry.act.value,
        subject_kind=None if subject is None else subject.kind.value,
        subject_id=None if subject is None else subject.id,
        ward_id=entry.ward_id,
        patient_id=entry.patient_id,
        detail=json.dumps(entry.detail, sort_keys=True, separators=(",", ":")),
        previous=head.hash,
    )
    return replace(link, hash=hash_of(link))


def hash_of(link: Link) -> str:
    """Answer the hash that belongs to what a row says, whatever hash it carries."""
    said = [getattr(link, name) for name in _HASHED]
    return sha256(json.dumps(said, separators=(",", ":")).encode("ascii")).hexdigest()


_HASHED: Final = Link.__match_args__[:-1]


def fault_of(link: Link, head: Head) -> Break | None:
    """Answer what is wrong with the row after `head`, None if it follows from it."""
    here = head.position + 1
    if link.position != here:
        return Break(here, Fault.MISSING)
    is_whole, follows = hash_of(link) == link.hash, link.previous == head.hash
    if is_whole and follows:
        return None
    if is_whole:
        return Break(here, Fault.UNLINKED)
    return Break(here, Fault.ALTERED if follows else Fault.MOVED)
