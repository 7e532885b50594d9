"""The state of the program: for administrators alone, in words and marks, and in their head."""

from dataclasses import replace
from datetime import timedelta

from sqlalchemy import text

from server.domain.invariants import SAID, Invariant, JobRun, Patience, Process
from server.services.look_at_invariants import keep_invariants
from server.store.processes import keep_process
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.pages.test_who_may_see import with_a_unit
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE

PROCESS = Process(
    "1",
    "ward:7",
    "1.0",
    at(-90),
    at(0),
    may_lead=True,
    leads=True,
    clock_ahead=4.0,
    key="abc",
    free={"/data": 5_200_000_000},
    jobs=(JobRun("tick", at(0), 3), JobRun("tidy", at(0), 12, failing_since=at(-30))),
)


def _looked(hospital: Hospital) -> None:
    hospital.charting.tick(hospital.clock.now)
    with hospital.store.write() as session:
        keep_process(session, replace(PROCESS, seen_at=hospital.clock.now))
    keep_invariants(hospital.store, now=hospital.clock.now, patience=Patience())


def test_where_all_holds_one_line_says_so_and_no_head_has_a_mark(hospital: Hospital) -> None:
    with_a_unit(hospital)
    now = hospital.clock.now
    hospital.charting.tick(now)
    keep_invariants(hospital.store, now=now, patience=Patience())

    page = hospital.visit(ADMINISTRATOR).see("/program")

    assert "All 13 that could be asked hold. Looked at 0 s ago." in page.text
    assert "Broken" not in page.text
    assert [one.name for one in SAID.values() if one.name not in page.text] == []
    assert "thing is wrong" not in page.text


def test_what_does_not_hold_says_what_was_found_expected_and_is_to_be_done(
    hospital: Hospital,
) -> None:
    with_a_unit(hospital)
    with hospital.store.write() as session:
        session.run(text("UPDATE episode_state SET bed = '<99>'"))
    _looked(hospital)
    visit = hospital.visit(ADMINISTRATOR)

    page, elsewhere = visit.see("/program"), visit.see("/wards")

    said = SAID[Invariant.ROWS_AS_FACTS]
    assert "3 of 18 do not hold." in page.text
    for words in (said.name, said.expected, said.do, "1 unit’s row differs: e1. Since 10:40."):
        assert words in page.text
    assert "ward:7 is 4 s ahead." in page.text
    assert "1 job fails: tidy." in page.text
    assert "fails since 09:30" in page.text
    assert "5.2 GB in /data" in page.text
    assert 'href="/episodes/e1"' in visit.get("/program").text
    assert "3 things are wrong" in elsewhere.text


def test_somebody_who_looks_late_reads_that_nobody_looks_any_more(hospital: Hospital) -> None:
    with_a_unit(hospital)
    _looked(hospital)
    hospital.clock.now += timedelta(hours=13)

    page = hospital.visit(ADMINISTRATOR).see("/program")

    assert "Nobody looks any more. What stands below is as it was found last." in page.text
    assert "The last tick succeeded 13 h ago. Since Tue 3 Mar 10:40." in page.text
    assert "Processes that were not seen lately" in page.text
    assert "3 things are wrong" in page.text


def test_before_anybody_looked_the_page_says_so(hospital: Hospital) -> None:
    page = hospital.visit(ADMINISTRATOR).see("/program")

    assert "Nobody has looked yet" in page.text


def test_nobody_else_sees_it_or_is_told(hospital: Hospital) -> None:
    with_a_unit(hospital)
    with hospital.store.write() as session:
        session.run(text("UPDATE episode_state SET bed = '99'"))
    _looked(hospital)

    for person in (NURSE, CHARGE, MANAGER):
        visit = hospital.visit(person)
        refused, board = visit.get("/program"), visit.see("/policies")
        assert (refused.status_code, "differs" in Page(refused.text).text) == (403, False)
        assert ("things are wrong" in board.text, "/program" in board.html) == (False, False)
