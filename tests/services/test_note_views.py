"""Looks are noted after the answer: once a quarter of an hour, together, and late if need be."""

import logging
from dataclasses import replace
from threading import Barrier, Thread

import pytest

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.audit_chain import BEGINNING
from server.services.check_audit import late_looks
from server.services.note_views import View, Views
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, NURSE
from tests.services.trail import NO_SPACE, SPACE, links, run_plainly, said

UNIT = Subject(SubjectKind.EPISODE, "e1")
BOARD = Subject(SubjectKind.BOARD)


def _look(subject: Subject = UNIT, minute: float = 0, ward_id: str | None = None) -> View:
    return View(NURSE, subject, ward_id, at(minute))


@ON_BOTH_ENGINES
def test_a_look_says_who_saw_what_of_whom_and_where(charting: Charting) -> None:
    charting.open("e1", "p1")
    views, before = Views(charting.store), len(links(charting.store))
    looks = (
        _look(),
        _look(Subject(SubjectKind.RECORD, "e1"), 1),
        _look(Subject(SubjectKind.PATIENT, "p1"), 2),
        _look(Subject(SubjectKind.PATIENT, "p9"), 3),
        _look(BOARD, 4, "w1"),
        _look(Subject(SubjectKind.ORDER, "o1"), 5, "w1"),
    )

    new = [views.see(look) for look in looks]
    views.write()

    names = ("at", "actor_name", "subject_kind", "subject_id", "ward_id", "patient_id")
    assert new == [True] * len(looks)
    assert said(charting.store, *names, after=before) == [
        ("2026-03-03T10:00:00Z", "Nina Nurse", "episode", "e1", "w1", "p1"),
        ("2026-03-03T10:01:00Z", "Nina Nurse", "record", "e1", "w1", "p1"),
        ("2026-03-03T10:02:00Z", "Nina Nurse", "patient", "p1", "w1", "p1"),
        ("2026-03-03T10:03:00Z", "Nina Nurse", "patient", "p9", None, "p9"),
        ("2026-03-03T10:04:00Z", "Nina Nurse", "board", None, "w1", None),
        ("2026-03-03T10:05:00Z", "Nina Nurse", "order", "o1", "w1", None),
    ]
    assert {link.act for link in links(charting.store)[before:]} == {AuditAct.VIEWED.value}


def test_the_same_look_counts_once_in_a_quarter_of_an_hour(store: Store) -> None:
    views = Views(store)
    elsewhere = replace(_look(), actor=replace(NURSE, access_id="another session"))

    seen = [
        views.see(one)
        for one in (
            _look(),
            _look(minute=14.9),
            elsewhere,
            replace(_look(), actor=CHARGE),
            _look(BOARD, 14, "w1"),
            _look(BOARD, 14, "w2"),
            _look(minute=15),
        )
    ]

    assert seen == [True, False, True, True, True, True, True]


def test_looks_that_cannot_be_noted_wait_and_the_trail_says_that_they_came_late(
    charting: Charting, caplog: pytest.LogCaptureFixture
) -> None:
    store, views = charting.store, Views(charting.store, most_waiting=2)
    before = len(links(store))
    run_plainly(store, NO_SPACE)
    for number in range(3):
        views.see(_look(Subject(SubjectKind.LABEL, f"{number}"), number))
        views.write()
    told = [record.message for record in caplog.records if record.levelno >= logging.ERROR]
    run_plainly(store, SPACE)

    views.write()
    views.write()

    assert told == ["THE AUDIT TRAIL CANNOT BE WRITTEN: 1 looks wait"]
    assert said(store, "at", "act", "subject_id", "actor_id", after=before) == [
        ("2026-03-03T10:00:00Z", "viewed", "0", "nurse-1"),
        ("2026-03-03T10:01:00Z", "viewed", "1", "nurse-1"),
        ("2026-03-03T10:01:00Z", "views_late", None, "system"),
    ]
    with store.read() as session:
        late = late_looks(session, BEGINNING)
    assert [link.detail for link in late] == [
        '{"from":"2026-03-03T10:00:00Z","lost":1,"until":"2026-03-03T10:01:00Z","views":2}'
    ]


def test_looks_that_wait_are_noted_by_whatever_look_comes_next(charting: Charting) -> None:
    store, views = charting.store, Views(charting.store)
    before = len(links(store))
    run_plainly(store, NO_SPACE)
    views.see(_look())
    views.write()
    waits = views.see(_look())
    run_plainly(store, SPACE)
    views.write()

    assert (waits, views.see(_look())) == (True, False)
    assert said(store, "act", after=before) == [("viewed",), ("views_late",)]


@ON_BOTH_ENGINES
def test_many_looks_at_once_are_all_noted_and_nobody_waits_for_another(store: Store) -> None:
    views, together, before = Views(store), Barrier(8), len(links(store))

    def look(number: int) -> None:
        together.wait()
        views.see(_look(Subject(SubjectKind.LABEL, f"{number}")))
        views.write()

    threads = [Thread(target=look, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    noted = {link.subject_id for link in links(store)[before:]}
    assert (noted, len(links(store)) - before) == ({f"{number}" for number in range(8)}, 8)
