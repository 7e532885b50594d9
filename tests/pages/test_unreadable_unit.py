"""One unit whose facts cannot be read: every page goes on, and says which one is missing."""

import re
from datetime import timedelta
from io import BytesIO
from typing import Final
from zipfile import ZipFile

import pytest

from server.domain.audit import AuditAct, SubjectKind
from server.domain.payloads import Assigned
from server.services.actor import Actor
from server.store.audit import links_of_act
from tests.pages.hospital import PART, Hospital
from tests.pages.reading import Page
from tests.pages.route_rules import AT, HAS_IT, RULES, SECOND, Rule
from tests.pages.route_stage import Stage, set_stage
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE
from tests.services.poison import DAMAGED_ORDERS, KINDS, tamper, write_past

LOOKS: Final[dict[str, Rule]] = {
    route: rule
    for route, rule in RULES.items()
    if route.startswith("GET") and not route.endswith(("/stream", "/changes"))
}
OF_THE_UNIT: Final = "{episode_id}"
PEOPLE: Final[tuple[Actor, ...]] = (NURSE, CHARGE, MANAGER, ADMINISTRATOR)
SAID: Final = re.compile(r"Bed 4[^<]*cannot be (read|worked out)|unit of this page cannot be read")
UNREAD: Final = "What is recorded of this unit cannot be read"


SAYS_SO: Final = {
    f"GET /wards/{{ward_id}}/{screen}"
    for screen in ("board", "board/rows", "replay", "report", "reminders", "breaches", "plan")
} | {"GET /breaches", "GET /mine", "GET /mine/due", "GET /mine/take-over"}
"""What is made from the facts of units; the other pages are made from what was worked out."""


@pytest.fixture(params=["unread", "not worked out", "asked for"])
def stage(request: pytest.FixtureRequest, hospital: Hospital) -> Stage:
    """One of everything on `w1`; of the nurse's unit `e1` nothing can be read, or followed.

    Where the request of `e1` is damaged, so are all orders.
    """
    made = set_stage(hospital)
    hospital.charting.record(hospital.clock.now, Assigned(NURSE.id), actor=CHARGE)
    tamper(hospital.store, KINDS[request.param])
    if request.param == "asked for":
        write_past(hospital.store, DAMAGED_ORDERS)
    return made


def test_every_page_is_answered_and_says_what_it_lacks(stage: Stage) -> None:
    wrong, named = {}, set()
    for person in PEOPLE:
        browser = stage.browsers(person)[person.id]
        for route, rule in LOOKS.items():
            answer = stage.ask(browser, route, rule)
            of_it = OF_THE_UNIT in route
            if answer.status_code >= 500 or (of_it and answer.status_code not in (403, 409)):
                wrong[person.id, route] = answer.status_code
            if not of_it and SAID.search(answer.text):
                named.add(route)

    assert (wrong, named) == ({}, SAYS_SO)


def test_its_page_tells_what_was_known_and_what_to_do(stage: Stage) -> None:
    answer = stage.hospital.visit(NURSE).get("/episodes/e1")

    page = Page(answer.text)
    assert answer.status_code == 409
    assert UNREAD in page.text
    assert "Go to the bedside and go on by the paper sheet" in page.text
    for known in ("Alder", "T000001", "Nina Nurse", "Started 10:10", "Finish"):
        assert known in page.text, known
    assert page.links["/wards/w1/sheet"] == "Paper sheet"


def test_a_fact_for_it_is_refused_and_what_was_typed_is_shown(stage: Stage) -> None:
    nurse, token = stage.browser(stage.hospital.secret_of(NURSE))
    typed = {"kind": "note", "text": "the port <was> cleaned", "csrf_token": token, **AT}
    before = stage.hospital.charting.everything("audit", "session")

    whole = nurse.post("/episodes/e1/events", typed)
    part = nurse.post("/episodes/e1/events", typed, **PART)
    acknowledged = nurse.post("/mine/have", {**HAS_IT, "csrf_token": token})

    page = Page(whole.text)
    assert [one.status_code for one in (whole, part, acknowledged)] == [409, 409, 409]
    assert "Not recorded: what you typed" in page.text
    assert "text the port <was> cleaned" in page.text
    assert token not in page.text
    assert part.headers["hx-retarget"] == "#problem"
    assert "Bed 4 cannot be read" in part.text
    assert "Nothing was recorded" in part.text
    assert stage.hospital.charting.everything("audit", "session") == before


def test_a_password_that_was_typed_for_it_is_not_shown(stage: Stage) -> None:
    nurse, token = stage.browser(stage.hospital.secret_of(NURSE))
    typed = {**SECOND, "check": stage.ids["check_id"], "csrf_token": token}

    answer = nurse.post("/episodes/e1/identity/second", typed)

    shown = [said for name, said in typed.items() if said in answer.text]
    assert (answer.status_code, shown) == (409, ["nurse-2"])


def test_a_look_at_what_is_left_of_it_is_noted(stage: Stage) -> None:
    """Name and record number are shown, so it is a look like any other; a part shows neither."""
    nurse, token = stage.browser(stage.hospital.secret_of(NURSE))
    note = {"kind": "note", "text": "seen", "csrf_token": token, **AT}

    nurse.post("/episodes/e1/events", note, **PART)
    before = _looks(stage)
    nurse.post("/episodes/e1/events", note)

    assert (before, _looks(stage)) == ([], [("episode", "e1", "w1", "p1")])


def _looks(stage: Stage) -> list[tuple[str | None, ...]]:
    with stage.hospital.store.read() as session:
        noted = links_of_act(session, AuditAct.VIEWED, 0)
    listed = [(one.subject_kind, one.subject_id, one.ward_id, one.patient_id) for one in noted]
    return [one for one in listed if one[0] == SubjectKind.EPISODE]


def test_who_may_not_see_the_unit_learns_nothing_of_it(stage: Stage) -> None:
    stranger, token = stage.browser(stage.hospital.secret_of(OUTSIDE_CHARGE))
    typed = {"kind": "note", "text": "seen", "csrf_token": token, **AT}

    answers = [stranger.get("/episodes/e1"), stranger.post("/episodes/e1/events", typed)]

    assert [one.status_code for one in answers] == [403, 403]
    assert not any(word in one.text for one in answers for word in ("Alder", "Bed 4", UNREAD))


def test_the_paper_sheet_has_boxes_for_it(stage: Stage) -> None:
    page = stage.hospital.visit(NURSE).see("/wards/w1/sheet")

    assert "Bed 4 red cells cannot be read" in page.text.replace("Red", "red")
    assert "Ask at the bedside, and read patient, bag and form there" in page.text


@pytest.mark.parametrize("identity", ["with", "without"])
def test_a_file_says_what_it_lacks(stage: Stage, identity: str) -> None:
    stage.hospital.clock.now += timedelta(hours=2)  # its next set is long overdue
    manager, token = stage.browser(stage.hospital.secret_of(MANAGER))
    days = {"from": "2026-03-03", "to": "2026-03-03"}
    asked = {"what": "breaches", "form": "csv", "identity": identity, **days}

    answer = manager.post("/wards/w1/exports", {**asked, "csrf_token": token})

    assert answer.status_code == 200
    with ZipFile(BytesIO(answer.content)) as archive:
        told = "".join(archive.read(name).decode() for name in archive.namelist())
    which = ": e1" if identity == "with" else ""
    assert f"1 unit of which nothing recorded can be read{which}," in told
