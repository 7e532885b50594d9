"""What each table holds when it is taken away: whole, and of nobody where nobody was wanted."""

from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from server.domain.policy import source_of
from tests.pages.exported import COMMON, NUMBER, chart, form, lines, rows
from tests.pages.hospital import Hospital
from tests.services.people import (
    CHARGE,
    MANAGER,
)
from tests.services.trail import said


@pytest.fixture
def charted(hospital: Hospital) -> Hospital:
    """A unit whose first check was missed, with its cause; and one of a patient elsewhere."""
    chart(hospital)
    return hospital


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
