"""Check the audit trail: find the first row that is not as it was written."""

import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.audit import AuditAct
from server.domain.audit_chain import BEGINNING, Break, Fault, Head, Link, fault_of, hash_of
from server.services.actor import SYSTEM
from server.services.audit import note
from server.store.audit import (
    NotedHead,
    audit_head,
    audit_link,
    keep_note,
    last_note,
    links_after,
    links_of_act,
)
from server.store.heartbeat import Beat, keep_beat, last_beat
from server.store.sessions import ReadSession
from server.store.store import Store

Progress = Callable[[int], None]

BEAT: Final = "audit"


@dataclass(frozen=True, slots=True)
class Verdict:
    """How many rows were looked at, the last of them that is as it was written, and the break.

    Without a break `head` is the end of the trail.
    """

    rows: int
    head: Head
    broken: Break | None = None


@dataclass(frozen=True, slots=True)
class Checked:
    """When the chain was last checked, up to where it is whole, and the words for a break."""

    at: datetime
    head: Head
    broken: str = ""


def verify(
    session: ReadSession, since: Head = BEGINNING, progress: Progress = lambda _: None
) -> Verdict:
    """Check the chain from a head that is trusted, which is not looked behind.

    `progress` is told the place of each row that was looked at.
    """
    head, rows = since, 0
    broken = _fault_of_head(session, since)
    if broken is not None:
        return Verdict(rows, head, broken)
    for link in links_after(session, since.position):
        broken = fault_of(link, head)
        if broken is not None:
            return Verdict(rows, head, broken)
        head, rows = link.head, rows + 1
        progress(link.position)
    return Verdict(rows, head)


def verify_since_note(session: ReadSession) -> tuple[Verdict, NotedHead | None]:
    """Check the chain from the head that was given out last, and answer that head."""
    noted = last_note(session)
    return verify(session, BEGINNING if noted is None else noted.head), noted


def give_head(store: Store, *, now: datetime) -> Verdict:
    """Answer the head to be noted elsewhere, and keep that it was given out.

    The chain is checked from the head before it; one that is broken is not given out.
    """
    with store.read() as session:
        verdict, _ = verify_since_note(session)
    if verdict.broken is None:
        with store.write() as session:
            keep_note(session, verdict.head, now)
    return verdict


def keep_checking(store: Store, *, now: datetime) -> Checked:
    """Check what was added since the last time, and keep up to where the chain is whole."""
    with store.read() as session:
        last = last_checked(session)
        verdict = verify(session, BEGINNING if last is None else last.head)
    broken = "" if verdict.broken is None else verdict.broken.words
    checked = Checked(now, verdict.head, broken)
    with store.write() as session:
        detail = json.dumps([verdict.head.position, verdict.head.hash, broken])
        keep_beat(session, Beat(BEAT, now, detail))
    return checked


def last_checked(session: ReadSession) -> Checked | None:
    """How the chain stood when it was last checked, None if it never was."""
    beat = last_beat(session, BEAT)
    if beat is None or beat.detail is None:
        return None
    position, head_hash, broken = json.loads(beat.detail)
    return Checked(beat.at, Head(position, head_hash), broken)


def late_looks(session: ReadSession, since: Head) -> tuple[Link, ...]:
    """The rows that say that looks could not be noted when they were taken."""
    return links_of_act(session, AuditAct.VIEWS_LATE, since.position)


def require_writable(store: Store, *, now: datetime) -> None:
    """Write a row and take it back. Raises what keeps the trail from being written."""
    with suppress(_TakenBack), store.write() as session:
        note(session, SYSTEM, AuditAct.VIEWED, now=now)
        raise _TakenBack


class _TakenBack(Exception):
    """Nothing of a trial is to stay."""


def _fault_of_head(session: ReadSession, noted: Head) -> Break | None:
    """What is wrong with the row that was noted, None if it is the one."""
    if noted == BEGINNING:
        return None
    link = audit_link(session, noted.position)
    if link is None:
        is_end = audit_head(session).position < noted.position
        return Break(noted.position, Fault.CUT_OFF if is_end else Fault.MISSING)
    if hash_of(link) != link.hash:
        return Break(noted.position, Fault.ALTERED)
    return None if link.head == noted else Break(noted.position, Fault.OTHER_HEAD)
