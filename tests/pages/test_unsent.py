"""What somebody left typed is theirs alone; a badge is told from a label on every page."""

import json
from typing import Final

from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.identity_page import read_all
from tests.pages.shared_device import PIN, by_script
from tests.services.identity import bedside
from tests.services.people import COLLEAGUE, NURSE

LEFT: Final = [["note", "/episodes/e1/events", "Record the note", [["text", "Itches", "Note"]]]]
IDLE_MINUTES: Final = 11


def test_what_was_typed_is_its_own_persons_and_nobody_elses(shared: Hospital) -> None:
    nina, cleo = shared.visit(NURSE), shared.visit(COLLEAGUE)
    by_script(nina, "/lock")
    kept = by_script(nina, "/unsent", path="/episodes/e1", forms=json.dumps(LEFT))

    again = shared.visit(NURSE)
    here, elsewhere, theirs = (
        browser.get(f"/unsent?path={path}").json()
        for browser, path in ((again, "/episodes/e1"), (again, "/mine"), (cleo, "/episodes/e1"))
    )
    page = again.see("/my-sign-in")
    dropped = by_script(again, "/unsent/drop", path="/episodes/e1")

    form = {"id": "note", "action": "/episodes/e1/events", "title": "Record the note"}
    assert (kept.status_code, dropped.status_code) == (204, 204)
    assert here == {
        "forms": [form | {"fields": [["text", "Itches", "Note"]]}],
        "kept_at": f"{at(0):%Y-%m-%dT%H:%M:%SZ}",
        "elsewhere": [],
    }
    assert elsewhere["elsewhere"] == [["/episodes/e1", "Record the note"]]
    assert theirs == {"forms": [], "kept_at": "", "elsewhere": []}
    assert page.links["/episodes/e1"] == "Record the note"
    assert again.get("/unsent?path=/episodes/e1").json()["forms"] == []


NO_FORMS: Final = (
    "{",
    "{}",
    '[["id", "/", "title"]]',
    '[["id", "/", "title", "x"]]',
    '[["id", 1, "title", []]]',
    '[["id", "/", "title", [["a", "b"]]]]',
    '[["id", "/", "title", [["a", "b", null]]]]',
    '[["id", "/", "title", ["abc"]]]',
)


def test_what_is_no_typed_form_is_refused(hospital: Hospital) -> None:
    browser = hospital.visit(NURSE)
    sent = (("https://elsewhere.example", "[]"), *(("/mine", forms) for forms in NO_FORMS))

    answers = [by_script(browser, "/unsent", path=path, forms=forms) for path, forms in sent]

    said = [(one.status_code, one.json()["why"].split(":")[0]) for one in answers]
    assert said == [(422, "path"), *[(422, "forms")] * len(NO_FORMS)]
    assert hospital.charting.everything()["unsent"] == []


def test_nothing_is_kept_for_a_session_that_has_ended(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    shared.clock.now = at(14 * 60)

    answer = by_script(browser, "/unsent", path="/mine", forms=json.dumps(LEFT))

    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")


def test_a_scanned_badge_is_told_from_a_label(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    scans = ("LW-102", "8017735005385000000011", "=%5100")

    said = [by_script(browser, "/labels", scan=scan).json()["badge"] for scan in scans]

    assert said == [True, True, False]
    assert "LW-102" not in by_script(browser, "/labels", scan="LW-102").text


def test_the_second_checker_signs_by_badge_and_a_badge_is_no_wristband(shared: Hospital) -> None:
    bedside(shared.charting)
    shared.clock.now = at(5)
    nurse, here = shared.visit(NURSE), "/episodes/e1/identity"
    badge = nurse.send(here, "scan", scan="LW-102")
    read_all(nurse)

    wrong = nurse.send(here, "second", badge="LW-102", pin="480252")
    signed = nurse.done(here, "second", badge="LW-102", pin=PIN)

    assert "is the badge of a member of staff, not a label; nothing was read" in badge.text
    assert (badge.status_code, wrong.status_code, signed) == (422, 422, here)
    assert "Cleo Colleague reads, as the second person" in nurse.see(here).text
