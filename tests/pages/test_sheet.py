"""The paper sheet: every live unit by bed, its limits with date, what is owed when, and boxes."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.payloads import (
    Assigned,
    Completed,
    FateRecorded,
    Issued,
    Paused,
    ReactionSuspected,
    Returned,
    Started,
)
from server.domain.picture import Case, picture
from server.domain.plan.planned import Planned
from server.domain.words import BloodGroup, Component, Fate
from server.pages.sheets.lines import Line
from server.pages.sheets.sheet_view import SheetView, Watched, sheet_view
from server.pages.sheets.unit_sheet import UnitSheet
from server.pages.sheets.writing import sheet_html
from server.services.read_board import Board, BoardRow, board_of
from server.store.wards import Ward
from tests.domain.builders import FULL, PATIENT, at, case
from tests.pages.hospital import Hospital
from tests.pages.units import running
from tests.services.people import CHARGE, OUTSIDER

WARD = Ward("ward-1", "Ward 1", "Pacific/Auckland", at(-600))
ZONE = ZoneInfo("Pacific/Auckland")
LABEL = Issued(at(-2), "A999926123456", "E0336", BloodGroup.O_NEG, at(900), 280)
NO_BOXES = ("",) * 8
END = Line("End observations", "15 min after end, by 60 min")


def board(now: datetime, *cases: Case, ward: Ward = WARD) -> Board:
    """A board of units, in the order in which they are given."""
    rows = tuple(BoardRow(picture(replace(one, zone=ZONE), now), "Nurse One") for one in cases)
    return board_of(ward, rows, (), at=now)


def sheet(now: datetime, *cases: Case) -> SheetView:
    """The sheet of some units, known up to a minute ago."""
    return sheet_view(board(now, *cases), at(-1))


def one(now: datetime, unit: Case) -> UnitSheet:
    """The sheet's block of one unit."""
    return sheet(now, unit).units[0]


def test_a_unit_that_runs_has_its_checks_ahead_until_its_finish_limit() -> None:
    shown = one(at(12), case((0, LABEL), (5, FULL), (10, Started(60))))

    assert shown == UnitSheet(
        bed="4",
        patient="Alder, Ida",
        state="Running since 23:10, 60 mL/h, 2 mL in at 23:12",
        alerts=(),
        identity=(
            ("Record number", "T000001"),
            ("Born", "4 May 1961"),
            ("Patient’s group", "not recorded"),
            ("Nurse", "Nurse One"),
        ),
        unit=(
            ("Component", "Red cells"),
            ("Unit number", "A999926123456"),
            ("Unit’s group", "O-"),
            ("Volume", "280 mL"),
        ),
        times=(("Started", "Tue 3 Mar 23:10"), ("Finish by", "Wed 4 Mar 02:58")),
        lines=(
            Line("Last known set", "", ("23:05", "36.8", "78", "16", "124/76", "", "–", "–")),
            Line("First check", "due 23:25, by 23:30"),
            Line("Running check", "due Wed 00:25, by Wed 00:40"),
            Line("Running check", "due Wed 01:25, by Wed 01:40"),
            Line("Running check", "due Wed 02:25, by Wed 02:40"),
            END,
            Line("Further set", ""),
        ),
        starts=False,
        ends=True,
    )


def test_a_check_that_is_late_says_so_and_the_next_is_counted_from_now() -> None:
    lines = one(at(40), running()).lines

    assert lines[1:3] == (
        Line("First check", "was due 23:25, by 23:30"),
        Line("Running check", "due Wed 00:40, by Wed 00:55"),
    )


def test_a_unit_that_is_not_started_counts_from_a_time_that_is_written_by_hand() -> None:
    issued = one(at(1), case((0, LABEL)))

    assert issued.state == "Issued since 23:00"
    assert issued.times == (
        ("Out of storage", "Tue 3 Mar 22:58"),
        ("Start by", "Tue 3 Mar 23:30"),
        ("Send back by", "Tue 3 Mar 23:28"),
        ("Finish by", "Wed 4 Mar 02:58"),
    )
    assert (issued.starts, issued.ends) == (True, True)
    assert [(line.what, line.when, line.boxes) for line in issued.lines] == [
        ("Baseline", "in the 60 min before start", NO_BOXES),
        ("First check", "15 min after start, by 20 min", NO_BOXES),
        *[("Running check", "60 min later, within 15 min", NO_BOXES)] * 3,
        ("End observations", "15 min after end, by 60 min", NO_BOXES),
        ("Further set", "", NO_BOXES),
    ]


def test_a_unit_that_waits_says_when_it_is_called_for_if_that_is_planned() -> None:
    waiting = case(units=2, n=2, volume_ml=None)
    planned = replace(waiting, planned=Planned(at(20), at(40), "nurse-1", None))

    assert [one(at(0), unit).times[0] for unit in (waiting, planned)] == [
        ("Call for it (planned)", ""),
        ("Call for it (planned)", "Tue 3 Mar 23:20"),
    ]
    assert one(at(0), waiting).unit == (
        ("Component", "Red cells, 2 of 2"),
        ("Unit number", ""),
        ("Unit’s group", ""),
        ("Volume", "mL"),
    )


def test_what_is_wrong_comes_first() -> None:
    suspected = one(at(60), running((55, ReactionSuspected())))
    past = one(at(250), running((100, Paused())))

    assert suspected.alerts == ("Suspected reaction since Tue 23:55, not closed",)
    assert [line.what for line in suspected.lines[1:9]] == ["Reaction check"] * 7 + [END.what]
    assert past.alerts == ("Past its finish limit",)
    assert past.state == "Paused since 00:40, rate 0 or not known, 90 mL in at 03:10"


def test_a_unit_that_is_in_owes_its_end_set_and_its_fate() -> None:
    ended = one(at(125), running((120, Completed())))

    assert ended.state == "Ended at 01:00"
    assert ended.times[1:] == (("Ended", "Wed 4 Mar 01:00"), ("Fate by", "Wed 4 Mar 05:00"))
    assert ended.lines[1:] == (
        Line("End observations", "due 01:15, by 02:00"),
        Line("Further set", ""),
    )
    assert (ended.starts, ended.ends) == (False, False)


def test_units_stand_by_bed_and_those_that_are_only_watched_apart() -> None:
    closed = running(
        (120, Completed()), (130, FULL), (135, FateRecorded(Fate.TRANSFUSED)), id="e9", bed="1"
    )
    returned = case((0, LABEL), (10, Returned()), id="e8", bed="3")
    beds = [running(id=f"e{bed}", bed=bed) for bed in ("10", "9", "2 b")]

    shown = sheet(at(140), closed, returned, *beds)

    assert [unit.bed for unit in shown.units] == ["2 b", "9", "10"]
    assert shown.count == 3
    assert shown.watched[0] == Watched("1", "Alder, Ida", "T000001", "", "Thu 5 Mar 01:00")
    assert [watched.bed for watched in shown.watched] == ["1", "3"]


def test_the_head_says_of_when_it_is_and_signs_are_in_the_wards_unit() -> None:
    ward = replace(WARD, temperature_unit="F")
    shown = sheet_view(board(at(12), running(), ward=ward), at(3, 5), away=True)

    assert shown.known == "23:03:05 NZDT on 3 March 2026"
    assert shown.made == "23:12:00 NZDT on 3 March 2026"
    assert shown.columns[1] == "Temp °F"
    assert shown.units[0].lines[0].boxes[1] == "98.2"
    assert "The database was away" in shown.away
    assert sheet(at(0)).away == ""


def test_the_file_needs_nothing_beside_it_and_escapes_what_people_typed() -> None:
    patient = replace(PATIENT, family_name="<b>Alder & Co", birth_date=None)
    unit = case((0, LABEL), patient=patient, component=Component.PLATELETS)
    html = sheet_html(sheet(at(1), unit))

    assert "&lt;b&gt;Alder &amp; Co, Ida" in html
    assert "not recorded" in html
    assert "No unit is live on this ward." in sheet_html(sheet(at(1)))
    for beside in ("<link", "<script", "src=", "url(", "http"):
        assert beside not in html, beside


def test_the_page_is_one_press_from_the_board(hospital: Hospital) -> None:
    hospital.charting.run(bed="9")
    hospital.charting.record(11, Assigned("nurse-1"))
    hospital.charting.open("e2", "p2", bed="10")
    hospital.clock.now = at(12)
    charge = hospital.visit(CHARGE)

    links = charge.see("/wards/w1/board").links
    text = charge.see("/wards/w1/sheet").text

    assert links["/wards/w1/sheet"] == "Paper sheet"
    assert text.index("Bed 9") < text.index("Bed 10")
    assert "As known at 10:12:00 GMT on 3 March 2026" in text
    assert "does not replace, local policy" in text
    assert hospital.visit(OUTSIDER).get("/wards/w1/sheet").status_code == 403
