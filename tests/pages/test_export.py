"""Tables taken away as files: whole, by role, with and without names, and never without a note."""

import csv
from datetime import datetime
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

import pytest
from httpx2 import Response
from openpyxl import load_workbook

from server.domain.payloads import CauseGiven, Completed, FateRecorded
from server.domain.policy import source_of
from server.domain.words import ClockName, Fate
from server.services.actor import Actor
from tests.domain.builders import POLICIES, at
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
)
from tests.services.trail import links, said

PATH = "/wards/w1/exports"
DAYS = {"from": "2026-03-03", "to": "2026-03-03"}
NUMBER = "G123426000017"
COMMON = POLICIES["common"]


@pytest.fixture
def charted(hospital: Hospital) -> Hospital:
    """A unit whose first check was missed, with its cause; and one of a patient elsewhere."""
    charting = hospital.charting
    charting.open("given", "p1")
    charting.issue(
        "given", unit_number=NUMBER, product_code="E0336", division="00", removed_at=at(-2)
    )
    charting.observe(5, "p1")
    charting.start("given")
    charting.record(90, Completed(), "given")
    charting.observe(95, "p1")
    charting.record(100, FateRecorded(Fate.TRANSFUSED), "given")
    cause = CauseGiven(ClockName.FIRST_CHECK, "handover", text="=HYPERLINK(Ida Alder)", n=1)
    charting.record(101, cause, "given")
    charting.open("elsewhere", "p9", ward_id="w2")
    hospital.clock.now = at(600)
    return hospital


def form(browser: Visit, query: str = "", **typed: str) -> Response:
    """Fill the form in and send it."""
    sent = browser.see(f"{PATH}{query}").form("export")
    return browser.post(sent.action, sent.filled(DAYS | typed))  # type: ignore[arg-type]


def rows(answer: Response) -> list[tuple[Any, ...]]:
    """The rows of a workbook, the head first."""
    assert answer.status_code == 200, Page(answer.text).errors
    return list(load_workbook(BytesIO(answer.content)).worksheets[0].iter_rows(values_only=True))


def lines(answer: Response, name: str) -> list[list[str]]:
    """The lines of a file in an archive."""
    with ZipFile(BytesIO(answer.content)) as archive:
        return list(csv.reader(StringIO(archive.read(name).decode(), newline="")))


def test_breaches_with_identity_come_whole_with_source_and_what_they_were_narrowed_to(
    charted: Hospital,
) -> None:
    answer = form(charted.visit(MANAGER), "?clock=first_check", what="breaches", identity="with")
    head, found = rows(answer)

    assert dict(zip(head, found, strict=True)) == {
        "Limit (ward time)": datetime(2026, 3, 3, 10, 30),  # noqa: DTZ001 - a cell has no zone
        "Limit (UTC)": datetime(2026, 3, 3, 10, 30),  # noqa: DTZ001 - a cell has no zone
        "Which limit": "First check",
        "Number": 1,
        "Kept": "missed",
        "Met (ward time)": None,
        "Met (UTC)": None,
        "Late by (min)": None,
        "Cause": "handover",
        "In their words": "=HYPERLINK(Ida Alder)",
        "Component": "Red cells",
        "Unit number": NUMBER,
        "Patient": "p1",
        "Record number": "T000001",
        "Family name": "Alder",
        "Given name": "Ida",
        "Date of birth": datetime(1961, 5, 4),  # noqa: DTZ001 - a cell has no zone
        "Bed": "4",
        "Unit here": "given",
        "Policy value": "first.due_minutes",
        "Its source": source_of(COMMON, "first.due_minutes"),
        "Policy": f"{COMMON.title}, version {COMMON.version}",
    }
    assert answer.headers["content-disposition"] == (
        'attachment; filename="breaches_ward-1_2026-03-03_2026-03-03.xlsx"'
    )
    assert answer.headers["cache-control"] == "no-store"
    about = load_workbook(BytesIO(answer.content)).worksheets[1].iter_rows(values_only=True)
    told = [row[:2] for row in about]
    assert (
        "Only",
        "limits from 3 March 2026 to 3 March 2026, days of the ward, both included",
    ) in told
    assert ("Only", "limit: First check") in told


def test_breaches_of_many_months_come_once_each_in_their_order(charted: Hospital) -> None:
    days = {"from": "2025-12-01", "to": "2026-04-30", "what": "breaches", "form": "csv"}
    whole = lines(form(charted.visit(MANAGER), **days), "breaches.csv")
    one = lines(form(charted.visit(MANAGER), what="breaches", form="csv"), "breaches.csv")

    assert len(one) > 1
    assert whole == one


def test_the_list_of_breaches_leads_to_its_own_export(charted: Hospital) -> None:
    manager = charted.visit(MANAGER).see("/wards/w1/breaches?clock=first_check&from=2026-03-02")
    (href,) = [one for one in manager.links if one.startswith(PATH)]
    nurse = charted.visit(NURSE).see("/wards/w1/breaches")

    assert "Narrowed to limit: First check." in charted.visit(MANAGER).see(href).text
    assert charted.visit(MANAGER).see(href).form("export").values["from"] == ["2026-03-02"]
    assert [one for one in nurse.links if one.startswith(PATH)] == []


def test_the_review_leads_to_its_rates_cut_and_narrowed_alike(charted: Hospital) -> None:
    asked = "by=day&component=platelets&from=2026-03-02&to=2026-03-03"
    browser = charted.visit(MANAGER)
    page = browser.see(f"/wards/w1/review?{asked}")
    (href,) = [one for one in page.links if one.startswith(PATH)]
    sent = browser.see(href).form("export")

    answer = browser.post(sent.action, sent.filled({"form": "csv"}))

    found, about = lines(answer, "rates.csv"), lines(answer, "about.csv")
    assert {row[0] for row in found[1:]} == {"whole period", "day"}
    assert {row[6] for row in found[1:]} == {"0"}
    assert ["Only", "component: Platelets", "", "", "", ""] in about
    assert [one for one in page.links if one.startswith("/wards/w1/report?from=2026-03-02")]


@pytest.mark.parametrize("what", ["breaches", "units"])
@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_without_identity_a_file_holds_nobody(charted: Hospital, what: str, kind: str) -> None:
    answer = form(charted.visit(MANAGER), what=what, form=kind, identity="without")

    with ZipFile(BytesIO(answer.content)) as archive:
        held = "".join(archive.read(name).decode() for name in archive.namelist())
    assert answer.headers["content-disposition"].partition("_no-names.")[2]
    assert NUMBER in held
    assert "patient 1" in held
    for word in ("Alder", "Ida", "T000001", "1961", "p1<", "p1,", "HYPERLINK", "given<", "Elm"):
        assert word not in held.replace("Given name", "")


def test_the_laboratory_gets_the_data_set_of_the_directive(charted: Hospital) -> None:
    answer = form(charted.visit(CHARGE), what="laboratory", form="csv", identity="without")

    assert lines(answer, "laboratory.csv") == [
        [
            *("supplier", "unit_number", "product_code", "division", "component"),
            *("patient_id", "record_number", "family_name", "given_name", "birth_date"),
            *("is_transfused", "fate", "disposed_on", "gaps"),
        ],
        [
            *("G1234", NUMBER, "E0336", "00", "red_cells"),
            *("p1", "T000001", "Alder", "Ida", "1961-05-04"),
            *("yes", "transfused", "2026-03-03", ""),
        ],
    ]


def test_units_say_how_long_they_were_out_and_until_when_they_are_kept(charted: Hospital) -> None:
    answer = form(charted.visit(MANAGER), what="units", form="csv", identity="with")
    head, found = lines(answer, "units.csv")
    told = dict(zip(head, found, strict=True))

    assert {name: told[name] for name in ("standing", "gaps", "out_of_storage_minutes")} == {
        "standing": "accounted_for",
        "gaps": "",
        "out_of_storage_minutes": "12",
    }
    assert (told["is_within_policy"], told["kept_until"]) == ("yes", "2056-03-03")
    assert told["started_at"] == "2026-03-03T10:10:00Z"


def test_rates_and_reminders_never_name_anybody(charted: Hospital) -> None:
    browser = charted.visit(MANAGER)
    rates = lines(form(browser, what="rates", form="csv", identity="with"), "rates.csv")
    load = lines(form(browser, what="reminders", form="csv", identity="with"), "reminders.csv")
    by_clock = {(row[0], row[5]): row[6:] for row in rates[1:]}

    assert by_clock["whole period", "first_check"][:4] == ["1", "0", "0", "1"]
    # 1 of 1: from 20.65 %, by 1 / (1 + z²) as Wilson's low end is where all were met.
    assert by_clock["week", "start"] == [
        *("1", "1", "0", "0", "100", "20.65", "100"),
        "only 1 owed: too few to judge",
    ]
    assert load[0][:3] == ["by", "which", "raised"]
    taken = [detail for act, detail in said(charted.store, "act", "detail") if act == "exported"]
    assert ['"identity":"without"' in f"{detail}" for detail in taken] == [True, True]


def test_times_are_the_whole_curve_of_all_units_by_component_and_by_hour(
    charted: Hospital,
) -> None:
    answer = form(charted.visit(MANAGER), what="times", form="csv", identity="without")
    head, *found = lines(answer, "times.csv")

    # One unit, started 10 min and ended 90 min after its issue: Greenwood has no error at the end.
    curves = [dict(zip(head, row, strict=True)) for row in found]
    assert [
        (one["until"], one["of"], one["minutes"], one["happened_percent"]) for one in curves
    ] == [
        ("start", "all", "10", "100"),
        ("start", "red_cells", "10", "100"),
        ("start", "issued from 10:00 to 10:59", "10", "100"),
        ("end", "all", "90", "100"),
        ("end", "red_cells", "90", "100"),
        ("end", "issued from 10:00 to 10:59", "90", "100"),
    ]
    assert curves[0] | {"low_percent": "", "high_percent": ""} == {
        **dict.fromkeys(head, ""),
        "until": "start",
        "of": "all",
        "median_minutes": "10",
        "p90_minutes": "10",
        "minutes": "10",
        "at_risk": "1",
        "events": "1",
        "censored": "0",
        "happened_percent": "100",
    }


def test_own_figures_stand_beside_published_ones_with_their_source(charted: Hospital) -> None:
    answer = form(charted.visit(MANAGER), what="published", form="csv", identity="without")
    head, *found = lines(answer, "published.csv")
    told = next(
        one
        for one in (dict(zip(head, row, strict=True)) for row in found)
        if (one["measure"], one["of"]) == ("first_check_kept", "1273")
    )

    assert len(found) == 12
    assert [told[name] for name in ("own_percent", "own_count", "own_of")] == ["0", "0", "1"]
    assert [told[name] for name in ("low_percent", "high_percent", "year")] == [
        "85.1",
        "87.8",
        "2025",
    ]
    assert (told["source"], told["is_verified"]) == ("AABB Annual Meeting 2025, abstract", "yes")


def test_every_file_stands_in_the_trail_with_its_filter_rows_and_naming(charted: Hospital) -> None:
    before = len(links(charted.store))
    form(charted.visit(MANAGER), "?part=day", what="breaches", identity="with", form="csv")

    only = "limits from 3 March 2026 to 3 March 2026, days of the ward, both included"
    (found,) = [
        row
        for row in said(
            charted.store, "actor_id", "act", "subject_kind", "ward_id", "detail", after=before
        )
        if row[1] == "exported"
    ]
    assert found == (
        "manager-1",
        "exported",
        "breaches",
        "w1",
        '{"format":"csv","identity":"with","only":"' + only + '; part of the day: day","rows":1,'
        '"sheet":"breaches"}',
    )
    trail = charted.visit(MANAGER).see("/audit?act=exported")
    assert "took away the breaches" in trail.text
    assert "patient identity: with" in trail.text


@pytest.mark.parametrize(
    ("person", "with_identity", "without"),
    [
        (MANAGER, 200, 200),
        (CHARGE, 200, 200),
        (ADMINISTRATOR, 403, 200),
        (NURSE, 403, 403),
        (OUTSIDER, 403, 403),
        (OUTSIDE_CHARGE, 403, 403),
    ],
    ids=lambda one: getattr(one, "id", ""),
)
def test_a_file_is_refused_by_role_and_ward(
    charted: Hospital, person: Actor, with_identity: int, without: int
) -> None:
    browser = charted.visit(person)
    token = browser.see("/my-sign-in").form("/sign-out").values["csrf_token"]
    before = [row for row in said(charted.store, "act") if row == ("exported",)]
    sent = DAYS | {"csrf_token": token, "what": "units", "form": "csv"}

    found = [
        browser.post(PATH, sent | {"identity": which}).status_code for which in ("with", "without")
    ]
    laboratory = browser.post(PATH, sent | {"identity": "without", "what": "laboratory"})

    assert found == [with_identity, without]
    assert laboratory.status_code == with_identity
    after = [row for row in said(charted.store, "act") if row == ("exported",)]
    assert len(after) - len(before) == [*found, laboratory.status_code].count(200)


def test_who_may_not_name_patients_is_not_offered_to(charted: Hospital) -> None:
    page = charted.visit(ADMINISTRATOR).see(PATH)

    assert "Files for your role do not name patients." in page.text
    assert "laboratory" not in page.form("export").options.get("what", [])


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"from": "2026-03-04"}, "lies before the first day"),
        ({"from": "2024-01-01"}, "makes more than 366 days"),
        ({"what": "everything"}, "is none of the choices"),
        ({"form": "doc"}, "is none of the choices"),
        ({"identity": "some"}, "is none of the choices"),
    ],
)
def test_what_cannot_be_made_is_refused_beside_its_field(
    charted: Hospital, typed: dict[str, str], why: str
) -> None:
    browser = charted.visit(MANAGER)
    sent = browser.see(PATH).form("export")
    values = sent.filled({}) | DAYS | {"what": "units"} | typed

    answer = browser.post(sent.action, values)

    assert answer.status_code == 422
    assert why in answer.text
    assert ("exported",) not in said(charted.store, "act")


def test_without_the_token_of_the_form_no_file_goes_out(charted: Hospital) -> None:
    sent = DAYS | {"what": "units", "form": "csv", "identity": "with", "csrf_token": "another"}

    answer = charted.visit(MANAGER).post(PATH, sent)

    assert answer.status_code == 403
    assert ("exported",) not in said(charted.store, "act")
