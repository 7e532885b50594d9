"""The board at the station and on the wall: kept in memory, right after every change."""

import re
from dataclasses import replace

import pytest

from server.domain.payloads import Assigned, Note, ReactionSuspected
from server.pages.boards.kept import kept_boards
from server.services.enter_staff import enter_staff
from server.services.wall_links import make_wall_link
from server.store.store import Store
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, CHARGE, NURSE, P2, register, staff_draft

ROW = re.compile(r'<li class="row (\w+) \w+[^"]*" id="row-([\w-]+)"')


def rows_of(html: str) -> list[tuple[str, str]]:
    """Level and key of each row, in order."""
    return ROW.findall(html)


def wall_of(hospital: Hospital, ward_id: str = "w1") -> str:
    """The address of a new wall."""
    with hospital.store.write() as session:
        return f"/wall/{make_wall_link(session, CHARGE, ward_id, now=hospital.clock.now)}"


def two_units(hospital: Hospital) -> None:
    """Unit `e1` runs with nurse-1, `e2` waits for nobody yet; 12 min after the base."""
    hospital.charting.run()
    hospital.charting.record(11, Assigned("nurse-1"))
    hospital.charting.open("e2", "p2", bed="11")
    hospital.clock.now = at(12)


def test_an_empty_ward_says_that_it_is_empty(hospital: Hospital) -> None:
    assert "No units on Ward 1" in hospital.visit(CHARGE).see("/wards/w1/board").text


def test_the_board_shows_every_unit_by_urgency(hospital: Hospital) -> None:
    two_units(hospital)

    html = hospital.visit(CHARGE).see("/wards/w1/board").html

    assert rows_of(html) == [("steady", "e1"), ("waiting", "e2")]


def test_each_look_is_counted_also_where_the_page_lay_ready(hospital: Hospital) -> None:
    two_units(hospital)
    registry, route = hospital.app.state.measures.registry, "/wards/{ward_id}/board"
    labels = {"method": "GET", "route": route, "status": "200"}

    def counted() -> tuple[float, float]:
        answered = registry.get_sample_value("fourth_hour_requests_total", labels)
        timed = registry.get_sample_value("fourth_hour_request_seconds_count", {"route": route})
        return answered or 0, timed or 0

    visit = hospital.visit(CHARGE)
    visit.see("/wards/w1/board")
    before = counted()
    for _ in range(3):
        visit.see("/wards/w1/board")

    assert counted() == (before[0] + 3, before[1] + 3)


@pytest.mark.parametrize(("nurse", "shown"), [("nurse-1", ["e1"]), ("-", ["e2"]), ("nurse-2", [])])
def test_one_nurse_s_rows_alone(hospital: Hospital, nurse: str, shown: list[str]) -> None:
    two_units(hospital)

    html = hospital.visit(CHARGE).see(f"/wards/w1/board?nurse={nurse}").html

    assert [key for _level, key in rows_of(html)] == shown


def test_the_board_is_right_at_once_after_every_change(hospital: Hospital) -> None:
    two_units(hospital)
    charge = hospital.visit(CHARGE)
    seen = [rows_of(charge.see("/wards/w1/board").html)]

    hospital.charting.record(12, ReactionSuspected(), "e1")
    seen.append(rows_of(charge.see("/wards/w1/board").html))
    hospital.charting.open("e3", "p1", bed="2")
    seen.append(rows_of(charge.see("/wards/w1/board").html))

    assert seen == [
        [("steady", "e1"), ("waiting", "e2")],
        [("reaction", "e1"), ("waiting", "e2")],
        [("reaction", "e1"), ("waiting", "e3"), ("waiting", "e2")],
    ]


def test_time_alone_changes_the_board_within_the_minute(hospital: Hospital) -> None:
    two_units(hospital)
    charge = hospital.visit(CHARGE)
    first = rows_of(charge.see("/wards/w1/board").html)
    hospital.clock.now = at(31)

    assert (first[0], rows_of(charge.see("/wards/w1/board").html)[0]) == (
        ("steady", "e1"),
        ("overdue", "e1"),
    )


def test_a_board_is_drawn_once_for_everybody_until_something_changes(hospital: Hospital) -> None:
    two_units(hospital)
    boards = kept_boards(hospital.app)
    first, second = hospital.visit(CHARGE), hospital.visit(NURSE)
    drawn = [first.get("/wards/w1/board/rows").text, second.get("/wards/w1/board/rows").text]
    (kept,) = boards._kept.values()

    second.get("/wards/w1/board/rows")
    assert drawn[0] == drawn[1]
    assert next(iter(boards._kept.values())) is kept


def test_each_reader_gets_a_head_of_their_own(hospital: Hospital) -> None:
    two_units(hospital)
    pages = [hospital.visit(person).see("/wards/w1/board") for person in (CHARGE, NURSE, CHARGE)]

    assert ["Carl Charge, charge nurse" in page.text for page in pages] == [True, False, True]
    assert len({page.form("/sign-out").values["csrf_token"][0] for page in pages}) == 3


def test_a_nurse_who_changes_the_name_is_named_anew(hospital: Hospital) -> None:
    two_units(hospital)
    charge = hospital.visit(CHARGE)
    assert "Nina Nurse" in charge.see("/wards/w1/board").text
    with hospital.store.write() as session:
        renamed = replace(staff_draft(NURSE), name="Nina New-Name")
        enter_staff(session, ADMINISTRATOR, renamed, now=hospital.clock.now)

    assert "Nina New-Name" in charge.see("/wards/w1/board").text


def test_a_change_by_another_process_is_seen_when_it_is_told(hospital: Hospital) -> None:
    two_units(hospital)
    charge = hospital.visit(CHARGE)
    charge.see("/wards/w1/board")
    other = Store(hospital.store.address)
    Charting(other).record(12, ReactionSuspected(), "e1")
    other.close()
    hospital.app.state.feed._poll()

    assert rows_of(charge.see("/wards/w1/board").html)[0] == ("reaction", "e1")


def test_long_names_and_markup_in_them_are_shown_as_they_are(hospital: Hospital) -> None:
    name = "<b>Ó</b>" + "Wolfeschlegelsteinhausen-" * 6
    with hospital.store.write() as session:
        register(session, replace(P2, family_name=name), minute=-590)
    two_units(hospital)

    html = hospital.visit(CHARGE).see("/wards/w1/board").html

    assert "&lt;b&gt;Ó&lt;/b&gt;Wolfeschlegelsteinhausen-" in html
    assert "<b>Ó</b>" not in html


@pytest.mark.parametrize("query", ["at=yesterday", "at=2026-03-03T10:00:00", "known_at=x"])
def test_an_instant_without_an_offset_is_refused(hospital: Hospital, query: str) -> None:
    answer = hospital.visit(CHARGE).get(f"/wards/w1/board?{query}")

    assert answer.status_code == 422
    assert "expected an instant with its offset" in Page(answer.text).text


def test_a_wall_shows_bed_and_initials_and_no_name(hospital: Hospital) -> None:
    two_units(hospital)
    hospital.charting.record(12, Note("Alder"), "e1")

    html = hospital.visit().see(wall_of(hospital)).html

    assert len(rows_of(html)) == 2
    assert "I.A." in html
    secrets = ("Alder", "Ida", "Birch", "Nina", "nurse-1", "T000001", "row-e1", "/episodes/")
    assert [secret for secret in secrets if secret in html] == []


def test_a_wall_fetches_its_board_anew(hospital: Hospital) -> None:
    two_units(hospital)
    wall, nobody = wall_of(hospital), hospital.visit()
    page = nobody.see(wall)

    part = nobody.get(f"{wall}/rows").text

    assert f'data-refresh="{wall}/rows"' in page.html
    assert rows_of(part) == rows_of(page.html)


def test_two_walls_do_not_hold_each_other_s_address(hospital: Hospital) -> None:
    two_units(hospital)
    first, second = wall_of(hospital), wall_of(hospital)
    nobody = hospital.visit()
    nobody.see(first)

    assert first.removeprefix("/wall/") not in nobody.see(second).html


def test_a_wall_dies_when_its_link_is_taken_back(hospital: Hospital) -> None:
    charge, nobody = hospital.visit(CHARGE), hospital.visit()
    made = charge.see("/wards/w1/wall-links").form("/wards/w1/wall-links")
    page = Page(charge.post(made.action, made.filled({})).text)
    wall = next(h for h in page.links if "/wall/" in h).removeprefix("http://testserver")
    assert nobody.get(wall).status_code == 200

    revoke = next(form for form in page.forms if form.action.endswith("/revoke"))
    assert charge.post(revoke.action, revoke.filled({})).status_code == 303

    assert [nobody.get(f"{wall}{end}").status_code for end in ("", "/rows", "/stream")] == [404] * 3
    assert "taken back 10:00" in charge.see("/wards/w1/wall-links").text


def test_the_address_of_a_wall_is_shown_once(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)
    made = charge.see("/wards/w1/wall-links").form("/wards/w1/wall-links")
    charge.post(made.action, made.filled({}))

    assert all("/wall/" not in href for href in charge.see("/wards/w1/wall-links").links)


def test_a_session_that_is_over_ends_refresh_and_stream_with_401(hospital: Hospital) -> None:
    nobody = hospital.visit()

    assert [
        nobody.get(f"/wards/w1/board/{end}").status_code for end in ("rows", "stream?since=1")
    ] == [401, 401]
