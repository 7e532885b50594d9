"""The state of the program: for administrators alone, in words and marks, and in their head."""

from dataclasses import replace
from datetime import timedelta

from sqlalchemy import text

from server.domain.invariants import SAID, Invariant, JobRun, Patience, Process
from server.logs.lines import PROCESS as HERE
from server.services.look_at_invariants import keep_invariants
from server.store.processes import keep_process
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.pages.test_who_may_see import with_a_unit
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE
from tests.services.poison import write_past

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

    said = "All 13 that were asked hold. 7 could not be asked here; the table says why."
    assert f"{said} Looked at 0 s ago. No process says that it leads." in page.text
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


def _summary(hospital: Hospital) -> str:
    """The notice at the head of the page."""
    text = hospital.visit(ADMINISTRATOR).see("/program").text
    return text.partition("Look again ")[2].partition(" What has to be so")[0].strip()


def _started(hospital: Hospital, process: Process = PROCESS) -> None:
    """A process that began ten seconds ago and leads; it has ticked, and not looked yet."""
    now = hospital.clock.now
    with hospital.store.write() as session:
        begun = now - timedelta(seconds=10)
        keep_process(session, replace(process, started_at=begun, seen_at=now, clock_ahead=0.0))


def test_before_anybody_looked_the_page_says_so(hospital: Hospital) -> None:
    said = "Nobody has looked yet, and no process has said that it runs the jobs."

    page = hospital.visit(ADMINISTRATOR).see("/program")

    assert f"{said} Nothing is known so far." in page.text
    assert "What has to be so" not in page.text


def test_in_the_first_minute_it_says_that_the_first_look_is_still_to_come(
    hospital: Hospital,
) -> None:
    _started(hospital)
    before = hospital.visit(ADMINISTRATOR).see("/program").text
    hospital.charting.tick(hospital.clock.now)
    ticked = _summary(hospital)
    hospital.clock.now += timedelta(seconds=45)
    hung = _summary(hospital)

    to_come = "The first look is still to come, within a minute of the start."
    assert f"{to_come} Nothing is known so far." in before
    assert ticked == f"{to_come} So far one thing is known: clocks are checked."
    assert hung.startswith(f"{to_come} So far one thing is known: clocks are not checked. ✕")


def test_after_a_new_start_what_was_found_before_it_is_not_taken_for_now(
    hospital: Hospital,
) -> None:
    _looked(hospital)
    hospital.clock.now += timedelta(hours=8)
    _started(hospital)
    hospital.charting.tick(hospital.clock.now)

    assert _summary(hospital).startswith(
        "The first look is still to come, within a minute of the start. What stands below was "
        "found 8 h ago."
    )


def test_what_the_process_that_leads_does_not_know_of_is_counted_as_not_looked_at(
    hospital: Hospital,
) -> None:
    hospital.charting.tick(hospital.clock.now)
    keep_invariants(hospital.store, now=hospital.clock.now, patience=Patience())
    names = "('orders_as_units', 'log_whole')"
    write_past(hospital.store, f"DELETE FROM invariant WHERE name IN {names}")  # noqa: S608

    said = "2 were not looked at: the process that leads does not know of it."
    assert said in hospital.visit(ADMINISTRATOR).see("/program").text


def test_each_process_is_told_by_what_it_does_and_which_one_shows_the_page(
    hospital: Hospital,
) -> None:
    """Two show pages, a worker leads, one stands by, and a leader was killed a moment ago."""
    now = hospital.clock.now
    web = replace(PROCESS, leads=False, may_lead=False, jobs=(), free={}, seen_at=now)
    worker = replace(PROCESS, id="w", name="worker:1", seen_at=now, clock_ahead=0.0)
    told = (
        replace(web, id="1", name=HERE),
        replace(web, id="2", name="web-2:1"),
        worker,
        replace(worker, id="s", name="spare:1", leads=False, jobs=()),
        replace(worker, id="k", name="killed:1", seen_at=now - timedelta(seconds=40)),
        replace(worker, id="g", name="gone:1", seen_at=now - timedelta(minutes=5)),
        replace(web, id="o", name="old:1", seen_at=now - timedelta(minutes=5)),
    )
    hospital.charting.tick(now)
    with hospital.store.write() as session:
        for one in told:
            keep_process(session, one)
    keep_invariants(hospital.store, now=now, patience=Patience())

    text = hospital.visit(ADMINISTRATOR).see("/program").text

    for words in (
        f"{HERE} (this page) shows pages only",
        "web-2:1 shows pages only",
        "worker:1 leads: runs the jobs",
        "spare:1 stands by to lead",
        "killed:1 led: ran the jobs",
        "gone:1 led: ran the jobs",
        "old:1 showed pages only",
        "Looked at 0 s ago. worker:1 says that it leads.",
        "writes to no folder",
        f"This page is from {HERE}, version",
    ):
        assert words in text, words


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
