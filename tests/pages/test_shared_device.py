"""One device, many people: badge and PIN, the lock, the change of person."""

import json
from typing import Final

import pytest

from server.domain.tries import ON_ONE_DEVICE
from server.pages.devices import DEVICE_COOKIE
from server.pages.links import SIGN_IN
from server.pages.visitors import COOKIE, form_token
from tests.domain.builders import at
from tests.pages.hospital import PASSWORD, Hospital
from tests.pages.reading import Page
from tests.pages.shared_device import BY_SCRIPT, PIN, by_script, secret_in, who
from tests.services.people import COLLEAGUE, NURSE

LEFT: Final = [["note", "/episodes/e1/events", "Record the note", [["text", "Itches", "Note"]]]]
IDLE_MINUTES: Final = 11


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
    assert "Nina Nurse , bedside nurse. This page is silent while it is locked." in page.text
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
