"""Tables taken away as files: by role, with and without names, and never without a note."""

from dataclasses import replace
from io import BytesIO
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from server.pages.exports.handing_out import distinct, ward_key
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from tests.domain.builders import at
from tests.pages.exported import DAYS, PATH, chart, form, lines
from tests.pages.hospital import Hospital
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    W1,
    W2,
    staff_draft,
)
from tests.services.trail import links, said


@pytest.fixture
def charted(hospital: Hospital) -> Hospital:
    """A unit whose first check was missed, with its cause; and one of a patient elsewhere."""
    chart(hospital)
    return hospital


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


def test_all_wards_are_taken_away_each_in_its_own_file_and_noted_each(charted: Hospital) -> None:
    """Where the list shows all wards, it leads to a file of all of them."""
    both = replace(MANAGER, id="manager-2", staff_id="manager-2", wards=W1 | W2)
    with charted.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(both), now=at(-600))
    browser = charted.visit(both)
    (href,) = [one for one in browser.see("/breaches").links if "/exports" in one]
    (review,) = [one for one in browser.see("/review").links if "/exports" in one]
    sent = browser.see(href).form("export")
    before = len(links(charted.store))

    answer = browser.post(sent.action, sent.filled({**DAYS, "form": "csv", "identity": "with"}))
    book = browser.post(sent.action, sent.filled({**DAYS, "form": "xlsx", "identity": "without"}))

    assert sent.values["wards"] == ["all"]
    assert browser.see(review).form("export").values["wards"] == ["all"]
    assert answer.headers["content-disposition"] == (
        'attachment; filename="breaches_all-wards_2026-03-03_2026-03-03.zip"'
    )
    with ZipFile(BytesIO(answer.content)) as archive:
        names = archive.namelist()
    assert names == [f"ward-{n}/{one}.csv" for n in (1, 2) for one in ("breaches", "about")]
    assert len(lines(answer, "ward-1/breaches.csv")) == 2
    assert ["Ward", "Ward 2", "", "", "", ""] in lines(answer, "ward-2/about.csv")
    with ZipFile(BytesIO(book.content)) as archive:
        assert archive.namelist() == ["ward-1.xlsx", "ward-2.xlsx"]
        first = load_workbook(BytesIO(archive.read("ward-1.xlsx"))).worksheets[0]
    assert len(list(first.iter_rows())) == 2
    noted = [
        row for row in said(charted.store, "act", "ward_id", after=before) if row[0] == "exported"
    ]
    assert noted == [("exported", "w1"), ("exported", "w2")] * 2


def test_somebody_of_one_ward_is_offered_and_given_no_other(charted: Hospital) -> None:
    browser = charted.visit(MANAGER)
    sent = browser.see(f"{PATH}?wards=all").form("export")

    answer = browser.post(sent.action, {**sent.filled({**DAYS}), "wards": "all", "form": "csv"})

    assert "wards" not in sent.options
    with ZipFile(BytesIO(answer.content)) as archive:
        assert archive.namelist() == ["ward-1/breaches.csv", "ward-1/about.csv"]


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (["Ward 4", "Ward 4", "ward-4"], ["ward-4", "ward-4_2", "ward-4_3"]),
        (["Łódź", "—"], ["d", "ward"]),
    ],
)
def test_a_ward_is_named_in_plain_letters_and_none_twice(names: list[str], told: list[str]) -> None:
    assert distinct([ward_key(name) for name in names]) == told
