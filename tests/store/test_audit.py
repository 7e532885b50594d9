"""The audit trail on both engines: one chain whoever writes, and pages of what is asked for."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from hashlib import sha256
from json import dumps
from typing import Final

from sqlalchemy import text

from server.domain.audit import AuditAct, AuditEntry, Subject, SubjectKind
from server.domain.audit_chain import BEGINNING, Head
from server.domain.payloads import Issued, Received
from server.domain.words import Kind, Role
from server.store.audit import (
    BATCH,
    NotedHead,
    append_entries,
    audit_head,
    audit_link,
    keep_note,
    last_note,
    links_after,
    links_of_act,
)
from server.store.audit_search import AuditQuery, Fact, find_facts, find_links
from server.store.audit_subjects import Concerned, concerned_by_episode, concerned_by_patient
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.domain.builders import at
from tests.store.facts import record

VIEW: Final = AuditEntry(
    at(0),
    "n1",
    "Nina",
    "bedside_nurse",
    AuditAct.VIEWED,
    subject=Subject(SubjectKind.EPISODE, "e1"),
    ward_id="w1",
    patient_id="p1",
    detail={"größe": 1},
)
WRITERS, EACH = 4, 25


def test_many_writers_make_one_chain(store: Store) -> None:
    """Checked as an auditor would: with SQL, JSON and SHA-256, and nothing of the product.

    The two stores know nothing of each other, as those of two processes.
    """
    stores = (store, Store(store.address))

    def write(writer: int) -> None:
        for _ in range(EACH):
            with stores[writer % 2].write() as session:
                append_entries(session, [replace(VIEW, actor_id=f"n{writer}"), VIEW])

    with ThreadPoolExecutor(WRITERS) as threads:
        list(threads.map(write, range(WRITERS)))
    stores[1].close()

    with store.read() as session:
        rows = session.rows(text("SELECT * FROM audit ORDER BY position"))
    before = "0" * 64
    for position, (*said, found) in enumerate(rows, start=1):
        assert (said[0], said[-1]) == (position, before)
        before = sha256(dumps(said, separators=(",", ":")).encode()).hexdigest()
        assert found == before
    assert len(rows) == WRITERS * EACH * 2


def test_the_trail_is_read_in_batches_from_any_place(store: Store) -> None:
    with store.write() as session:
        empty = audit_head(session), list(links_after(session, 0)), audit_link(session, 1)
        head = append_entries(session, [VIEW] * (BATCH + 2))

    with store.read() as session:
        places = [link.position for link in links_after(session, 1)]
        last = audit_link(session, BATCH + 2)
    assert empty == (BEGINNING, [], None)
    assert places == list(range(2, BATCH + 3))
    assert last is not None
    assert (last.head, last.detail) == (head, '{"gr\\u00f6\\u00dfe":1}')


def test_the_last_head_that_was_given_out_is_kept(store: Store) -> None:
    with store.write() as session:
        none = last_note(session)
        keep_note(session, Head(1, "a"), at(1))
        keep_note(session, Head(5, "b"), at(2))

    with store.read() as session:
        assert (none, last_note(session)) == (None, NotedHead(Head(5, "b"), at(2)))


def test_rows_are_found_by_what_is_asked_for(store: Store) -> None:
    entries = (
        VIEW,
        replace(VIEW, actor_id="n2", ward_id="w2", patient_id="p2", at=at(1)),
        AuditEntry(at(2), "n1", "Nina", "bedside_nurse", AuditAct.SIGNED_IN),
        AuditEntry(
            at(3),
            "nobody",
            "",
            "none",
            AuditAct.SIGN_IN_FAILED,
            subject=Subject(SubjectKind.STAFF, "n1"),
        ),
        AuditEntry(at(4), "n2", "Noa", "manager", AuditAct.SIGNED_IN),
    )
    with store.write() as session:
        for ward_id in ("w1", "w2"):
            add_ward(session, Ward(ward_id, "Ward", "UTC", at(-600)))
        save_staff(session, Staff("n1", "Nina", Role.BEDSIDE_NURSE, frozenset({"w1"})))
        save_staff(session, Staff("n2", "Noa", Role.MANAGER, frozenset({"w2"})))
        append_entries(session, entries)

    asked = {
        "all": (AuditQuery(), None),
        "person": (AuditQuery(actor_id="n1"), None),
        "patients": (AuditQuery(patient_ids=("p2", "p3")), None),
        "no patient": (AuditQuery(patient_ids=()), None),
        "ward": (AuditQuery(ward_id="w1"), None),
        "act": (AuditQuery(act=AuditAct.SIGNED_IN), None),
        "days": (AuditQuery(from_at=at(1), to_at=at(3)), None),
        "older": (AuditQuery(before=3), None),
        "of ward 1 and its staff": (AuditQuery(), frozenset({"w1"})),
        "of no ward": (AuditQuery(), frozenset[str]()),
    }
    with store.read() as session:
        found = {
            name: [link.position for link in find_links(session, query, wards, limit=9)]
            for name, (query, wards) in asked.items()
        }
        failed = [link.position for link in links_of_act(session, AuditAct.SIGN_IN_FAILED, 0)]
        limited = [link.position for link in find_links(session, AuditQuery(), None, limit=2)]
    assert found == {
        "all": [5, 4, 3, 2, 1],
        "person": [3, 1],
        "patients": [2],
        "no patient": [],
        "ward": [1],
        "act": [5, 3],
        "days": [3, 2],
        "older": [2, 1],
        "of ward 1 and its staff": [4, 3, 1],
        "of no ward": [],
    }
    assert (failed, limited) == ([4], [5, 4])


def test_facts_are_found_by_what_is_asked_for(store: Store, ward: Ward) -> None:
    with store.write() as session:
        record(session, 0, Issued(), id="a")
        record(session, 5, Received(), id="b")

    asked = {
        "all": (AuditQuery(), None),
        "person": (AuditQuery(actor_id="nurse-1"), None),
        "nobody": (AuditQuery(actor_id="other"), None),
        "patient": (AuditQuery(patient_ids=("p1",)), None),
        "ward": (AuditQuery(ward_id=ward.id), None),
        "wards": (AuditQuery(), frozenset({"w2"})),
        "days": (AuditQuery(from_at=at(1), to_at=at(9)), None),
        "older": (AuditQuery(fact_before=2), None),
    }
    with store.read() as session:
        found = {
            name: [fact.position for fact in find_facts(session, query, wards, limit=9)]
            for name, (query, wards) in asked.items()
        }
        newest = find_facts(session, AuditQuery(), None, limit=1)
    assert found == {
        "all": [2, 1],
        "person": [2, 1],
        "nobody": [],
        "patient": [2, 1],
        "ward": [2, 1],
        "wards": [],
        "days": [2],
        "older": [1],
    }
    assert newest == (Fact(2, at(5), "nurse-1", Kind.RECEIVED, "e1", "p1", ward.id),)


def test_whose_a_thing_is(store: Store, ward: Ward) -> None:
    with store.read() as session:
        found = [
            concerned_by_episode(session, "e1"),
            concerned_by_episode(session, "none"),
            concerned_by_patient(session, "p2"),
            concerned_by_patient(session, "none"),
        ]

    assert found == [
        Concerned("p1", ward.id),
        Concerned(),
        Concerned("p2", ward.id),
        Concerned("none", None),
    ]
