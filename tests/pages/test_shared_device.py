"""One device, many people: badge and PIN, the lock, the change of person, what was left typed."""

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from shutil import copyfile
from typing import Any, Final

import pytest
from httpx2 import Response

from server.domain.tries import ON_ONE_DEVICE
from server.pages.devices import DEVICE_COOKIE, device_words
from server.pages.forms.entry import MISSING
from server.pages.links import SIGN_IN
from server.pages.visitors import COOKIE, form_token
from server.services.actor import Actor
from server.services.badges import record_badge
from server.services.enter_staff import enter_staff
from server.services.set_pin import set_pin
from server.settings import Settings
from server.store.store import Store
from tests.domain.builders import at
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.identity_page import read_all
from tests.pages.reading import Page
from tests.services.identity import bedside
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    NURSE,
    OUTSIDE_CHARGE,
    staff_draft,
)

PIN: Final = "480251"
BADGES: Final = {NURSE.id: "LW-101", COLLEAGUE.id: "LW-102"}
BY_SCRIPT: Final = {"sec-fetch-mode": "cors"}
LEFT: Final = [["note", "/episodes/e1/events", "Record the note", [["text", "Itches", "Note"]]]]
IDLE_MINUTES: Final = 11


@pytest.fixture(scope="module")
def shared_file(
    opened: Hospital, hospital_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Nina and Cleo have badges, PINs and passwords: entered once, to copy."""
    file = tmp_path_factory.mktemp("shared") / "shared.db"
    copyfile(hospital_file, file)
    store, key = Store(f"sqlite:///{file}"), opened.app.state.board_key
    with store.write() as session:
        for person in (NURSE, COLLEAGUE):
            draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
            enter_staff(session, ADMINISTRATOR, draft, now=at(0))
            record_badge(session, key, ADMINISTRATOR, person.id, BADGES[person.id], now=at(0))
            set_pin(session, key, person, PIN, now=at(0))
    store.close()
    return file


@pytest.fixture
def shared(hospital: Hospital, shared_file: Path) -> Iterator[Hospital]:
    """The hospital with the two of them, and screens that lock."""
    with sqlite3.connect(shared_file) as kept, sqlite3.connect(hospital.file) as used:
        kept.backup(used)
    never = hospital.app.state.settings
    hospital.app.state.settings = replace(never, lock_after=Settings().lock_after)
    yield hospital
    hospital.app.state.settings = never


def secret_in(browser: Visit) -> str:
    return str(browser.client.cookies.get(COOKIE))


def by_script(browser: Visit, address: str, /, **values: Any) -> Response:
    """What a script of a page sends, with the token of the page."""
    said = {"csrf_token": form_token(secret_in(browser)), **values}
    return browser.post(address, said, **BY_SCRIPT)


def who(browser: Visit) -> tuple[str, bool]:
    said = browser.get("/who").json()
    return said["person"], said["locked"]


def test_a_badge_and_its_pin_sign_in(shared: Hospital) -> None:
    browser = shared.visit()

    where = browser.done("/sign-in?next=/mine", "by-badge", badge=" LW-101 ", pin=PIN)

    assert (where, who(browser)) == ("/mine", (NURSE.id, False))


@pytest.mark.parametrize(
    ("badge", "pin"), [("LW-101", "480252"), ("LW-109", PIN), ("LW-109", "480252"), ("?", "1")]
)
def test_a_wrong_badge_and_a_wrong_pin_get_the_same_words(
    shared: Hospital, badge: str, pin: str
) -> None:
    answer = shared.visit().send("/sign-in", "by-badge", badge=badge, pin=pin)

    page = Page(answer.text)
    assert (answer.status_code, COOKIE in str(answer.headers)) == (422, False)
    assert "do not belong together, or the badge is not recorded." in page.text
    assert page.form("by-badge").values | {"csrf_token": []} == {
        "badge": [badge], "pin": [""], "next": [""], "csrf_token": []
    }  # fmt: skip


def test_an_empty_badge_form_says_what_is_needed(shared: Hospital) -> None:
    answer = shared.visit().send("/sign-in", "by-badge")

    assert set(Page(answer.text).errors) == {"f-badge", "f-pin"}


def test_a_page_that_nobody_touches_is_locked_and_returns_to_where_it_was(
    shared: Hospital,
) -> None:
    shared.charting.run()
    browser = shared.visit(NURSE)
    browser.see("/wards/w1/board")
    shared.clock.now = at(IDLE_MINUTES)

    barred = browser.get("/episodes/e1?step=running")
    page = browser.see(barred.headers["location"])
    form = page.form("unlock")
    wrong = browser.post("/unlock", form.filled({"secret": "480252"}))
    answer = browser.post("/unlock", form.filled({"secret": PIN}))

    assert (barred.status_code, "Alder" in barred.text) == (303, False)
    assert barred.headers["location"] == "/locked?next=/episodes/e1%3Fstep%3Drunning"
    assert "Nina Nurse , bedside nurse. Reminders go on, and so does the wall view." in page.text
    said = {"f-secret": "This is neither your PIN nor your password."}
    assert (wrong.status_code, Page(wrong.text).errors) == (422, said)
    assert (answer.status_code, answer.headers["location"]) == (303, "/episodes/e1?step=running")
    assert browser.get("/episodes/e1").status_code == 200
    assert browser.get("/locked").headers["location"] == "/"


def test_a_lock_holds_for_every_way_to_look(shared: Hospital) -> None:
    shared.charting.run()
    browser, board = shared.visit(NURSE), "/wards/w1/board"
    browser.see(board)
    assert by_script(browser, "/lock").status_code == 204

    paths = (board, f"{board}/rows", f"{board}/stream", "/mine", "/episodes/e1", "/unsent?path=/")
    plain = {path: browser.get(path).status_code for path in paths}
    fetched = {path: browser.get(path, **BY_SCRIPT) for path in paths[3:]}
    sent = by_script(browser, "/episodes/e1/events", kind="note", text="x")

    assert plain == {path: 423 if "board/" in path else 303 for path in paths}
    assert {one.status_code for one in (*fetched.values(), sent)} == {423}
    assert all("Alder" not in one.text for one in (*fetched.values(), sent))
    assert who(browser) == (NURSE.id, True)


def test_acts_keep_a_screen_open_and_what_a_page_asks_by_itself_does_not(
    shared: Hospital,
) -> None:
    active, idle, watching = (shared.visit(NURSE) for _ in range(3))
    for minute in range(1, 2 * IDLE_MINUTES):
        shared.clock.now = at(minute)
        assert by_script(active, "/act").status_code == 204
        idle.get("/mine/due", **BY_SCRIPT)
        idle.get("/mine/due", **{"hx-request": "true"})
        watching.get("/wards/w1/board")

    assert [who(one) for one in (active, idle, watching)] == [
        (NURSE.id, False),
        (NURSE.id, True),
        (NURSE.id, True),
    ]


def test_nothing_locks_by_itself_where_the_site_says_so(hospital: Hospital) -> None:
    browser = hospital.visit(NURSE)
    hospital.clock.now = at(600)

    assert browser.get("/mine").status_code == 200


def test_unlocking_gives_the_session_another_secret(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    before = secret_in(browser)
    by_script(browser, "/lock")
    by_script(browser, "/unsent", path="/mine", forms=json.dumps(LEFT))

    refused = by_script(browser, "/unlock", secret="no")
    answer = by_script(browser, "/unlock", secret=PASSWORD, stays="/mine")

    after = answer.cookies[COOKIE]
    assert (refused.status_code, refused.json()) == (
        422,
        {"why": "This is neither your PIN nor your password."},
    )
    assert (after == before, answer.json()) == (False, {"token": form_token(after)})
    stolen = shared.visit()
    stolen.client.cookies.set(COOKIE, before)
    assert (stolen.get("/mine").status_code, stolen.get("/who").json()["person"]) == (303, "")
    browser.client.cookies.clear()
    browser.client.cookies.set(COOKIE, after)
    assert browser.get("/unsent?path=/mine").json()["forms"] == []


def test_guessing_at_a_locked_screen_waits(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    browser.client.cookies.set(DEVICE_COOKIE, "desk")
    by_script(browser, "/lock")

    answers = [by_script(browser, "/unlock", secret="o") for _ in range(ON_ONE_DEVICE.free + 1)]

    assert {one.status_code for one in answers[: ON_ONE_DEVICE.free]} == {422}
    assert (answers[-1].status_code, answers[-1].headers["retry-after"]) == (429, "30")
    assert "in 30 seconds" in answers[-1].json()["why"]


def test_a_session_that_has_ended_cannot_be_unlocked(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    by_script(browser, "/lock")
    shared.clock.now = at(14 * 60)

    answer = by_script(browser, "/unlock", secret=PIN)
    plain = browser.post("/unlock", {"secret": PIN, "next": "/mine"})

    assert (answer.status_code, answer.json()["ended"]) == (401, True)
    assert plain.headers["location"] == "/sign-in?next=/mine"
    assert browser.get("/locked?next=/mine").headers["location"] == "/sign-in?next=/mine"


def test_a_screen_is_locked_by_hand_without_scripts(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    form = browser.see("/mine").form("/sign-out")

    answer = browser.post("/lock", form.filled({}), referer="http://testserver/mine")

    assert (answer.status_code, answer.headers["location"]) == (303, "/locked?next=/mine")


def test_another_person_takes_over_in_place(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    before = secret_in(browser)
    by_script(browser, "/lock")

    wrong = by_script(browser, f"{SIGN_IN}/badge", badge="LW-102", pin="480252")
    answer = by_script(browser, f"{SIGN_IN}/badge", badge="LW-102", pin=PIN, next="/mine")

    assert (wrong.status_code, wrong.json()["fields"]) == (422, ["form"])
    assert (answer.status_code, answer.json()) == (200, {"href": "/mine"})
    assert answer.cookies[COOKIE] != before
    left = shared.visit()
    left.client.cookies.set(COOKIE, before)
    assert left.get("/who").json()["person"] == ""
    theirs = shared.visit()
    theirs.client.cookies.set(COOKIE, answer.cookies[COOKIE])
    assert who(theirs) == (COLLEAGUE.id, False)


def test_ones_own_badge_unlocks_and_changes_nothing(shared: Hospital) -> None:
    browser = shared.visit(NURSE)
    by_script(browser, "/lock")

    answer = by_script(browser, f"{SIGN_IN}/badge", badge="LW-101", pin=PIN)

    assert answer.json() == {"token": form_token(answer.cookies[COOKIE])}
    assert len(shared.charting.everything()["session"]) == 1


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


def test_one_sets_ones_own_pin_with_the_password(shared: Hospital) -> None:
    browser, here = shared.visit(NURSE), "/my-sign-in"
    new = {"pin": "739016", "pin_again": "739016"}

    empty = browser.send(here, "pin")
    other = browser.send(here, "pin", password=PASSWORD, pin="739016", pin_again="739017")
    wrong = browser.send(here, "pin", password=PIN, **new)
    weak = browser.send(here, "pin", password=PASSWORD, pin="123456", pin_again="123456")
    unchanged = shared.visit().send("/sign-in", "by-badge", badge="LW-101", pin="739016")
    done = browser.done(here, "pin", password=PASSWORD, **new)

    assert [Page(one.text).errors for one in (empty, other, wrong, weak)] == [
        dict.fromkeys(
            ("f-password", "f-pin", "f-pin_again"), "nothing was entered; this is needed"
        ),
        {"f-pin_again": "is not the same as the PIN above"},
        {"f-password": "is not your password"},
        {"f-pin": "counts in equal steps; choose digits that nobody guesses"},
    ]
    assert (unchanged.status_code, done) == (422, "/my-sign-in?done=pin")
    assert "Your PIN is set." in browser.see(done).text
    assert shared.visit().done("/sign-in", "by-badge", badge="LW-101", pin="739016") == "/"


def test_one_sees_and_ends_ones_own_sessions(shared: Hospital) -> None:
    desk, phone, tablet = (shared.visit(NURSE) for _ in range(3))
    page = desk.see("/my-sign-in")
    ends = [form.action for form in page.forms if form.action.endswith("/end")]
    assert (len(ends), page.text.count("End it")) == (3, 2)

    desk.done("/my-sign-in", ends[0])
    left = [who(one)[0] for one in (desk, phone, tablet)]
    desk.done("/my-sign-in", "/my-sign-in/others/end")

    assert left.count("") == 1
    assert [who(one)[0] for one in (desk, phone, tablet)] == [NURSE.id, "", ""]
    gone = desk.post(ends[0], {"csrf_token": form_token(secret_in(desk))})
    assert gone.status_code == 404


def test_a_charge_nurse_records_a_badge_and_takes_it_back(shared: Hospital) -> None:
    charge, here = shared.visit(CHARGE), "/wards/w1/staff/charge-1/badge"
    assert charge.see("/wards/w1/staff").links[here] == "none"

    empty = charge.send(here, here)
    taken = charge.send(here, here, badge="LW-101")
    recorded = charge.done(here, here, badge="8017735005385000000011")
    page = charge.see(recorded)
    back = charge.done(here, "take-back")

    assert Page(empty.text).errors == {"f-badge": MISSING}
    assert "recorded for somebody else" in Page(taken.text).text
    assert "The badge is recorded." in page.text
    assert ("735005385000000011" in page.html, "Sign them out" in page.text) == (False, False)
    assert "The badge is taken back" in charge.see(back).text
    assert "No badge is recorded." in charge.see(here).text


def test_an_administrator_signs_somebody_out(shared: Hospital) -> None:
    admin, nina = shared.visit(ADMINISTRATOR), shared.visit(NURSE)
    here = "/wards/w1/staff/nurse-1/badge"
    assert "a device of unknown kind" not in admin.see(here).text

    assert "is signed out everywhere" in admin.see(admin.done(here, "sign-out")).text
    assert (who(nina)[0], "Nowhere." in admin.see(here).text) == ("", True)


@pytest.mark.parametrize("person", [NURSE, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_nobody_else_sees_or_records_a_badge(shared: Hospital, person: Actor) -> None:
    browser, here = shared.visit(person), "/wards/w1/staff/nurse-2/badge"
    before = shared.charting.everything()["badge"]

    seen = browser.get(here).status_code
    sent = [
        by_script(browser, f"{here}{step}", badge="LW-109").status_code
        for step in ("", "/take-back", "/sign-out")
    ]

    assert (seen, sent) == (403, [403] * 3)
    assert shared.charting.everything()["badge"] == before


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


class Saying:
    """A request that says only which browser it comes from."""

    def __init__(self, agent: str) -> None:
        self.headers = {"user-agent": agent}


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (
            "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537 Chrome/141 Safari/537",
            "Chrome on Linux",
        ),
        ("Mozilla/5.0 (Windows NT 10.0) AppleWebKit Chrome/141 Safari Edg/141", "Edge on Windows"),
        ("Mozilla/5.0 (iPad; CPU OS 18 like Mac OS X) Version/18 Safari/604", "Safari on iPad"),
        ("Mozilla/5.0 (Android 15; Mobile) Gecko Firefox/140", "Firefox on Android"),
        ("curl/8", "a device of unknown kind"),
    ],
)
def test_a_device_is_called_by_its_browser(agent: str, words: str) -> None:
    assert device_words(Saying(agent)) == words  # type: ignore[arg-type]
