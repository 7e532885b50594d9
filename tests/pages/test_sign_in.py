"""Sign in by name and password, and sign out; nobody is locked out and nobody is told why not."""

from dataclasses import replace

import pytest

from server.domain.tries import ON_ONE_DEVICE
from server.pages.visitors import COOKIE
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from tests.domain.builders import at
from tests.pages.hospital import PART, PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    staff_draft,
)


def with_password(hospital: Hospital, person: Actor = NURSE) -> Visit:
    """A browser in front of somebody who has a password."""
    draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, draft, now=at(0))
    return hospital.visit()


def test_the_right_pair_opens_a_session(hospital: Hospital) -> None:
    browser = with_password(hospital)

    answer = browser.send("/sign-in", "/sign-in", sign_in_name="nurse-1", password=PASSWORD)

    cookie = next(c for c in answer.headers.get_list("set-cookie") if c.startswith(COOKIE))
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert all(rule in cookie for rule in ("HttpOnly", "SameSite=lax", "Path=/", "Max-Age=46800"))
    assert browser.get("/").status_code == 303


@pytest.mark.parametrize(
    ("name", "password"),
    [
        ("nurse-1", "another long word"),
        ("nobody", PASSWORD),
        ("nurse-2", PASSWORD),
        ("nurse-1", "x"),
    ],
)
def test_a_wrong_pair_gets_the_same_words_and_keeps_the_name(
    hospital: Hospital, name: str, password: str
) -> None:
    answer = with_password(hospital).send(
        "/sign-in", "/sign-in", sign_in_name=name, password=password
    )

    page = Page(answer.text)
    assert (answer.status_code, COOKIE in str(answer.headers)) == (422, False)
    assert "Name or password is wrong." in page.text
    assert page.form("/sign-in").values["sign_in_name"] == [name]
    assert page.form("/sign-in").values["password"] == [""]


def test_an_empty_form_says_what_is_needed(hospital: Hospital) -> None:
    answer = hospital.visit().send("/sign-in", "/sign-in", sign_in_name=" ", password="")

    assert set(Page(answer.text).errors) == {"f-sign_in_name", "f-password"}


def test_guessing_is_slowed_down_and_locks_nobody_out(hospital: Hospital) -> None:
    """The wait grows; a device on which the person was before is counted apart."""
    known = with_password(hospital)
    right = {"sign_in_name": "nurse-1", "password": PASSWORD}
    assert known.send("/sign-in", "by-name", **right).status_code == 303
    guesser, guess = hospital.visit(), {"sign_in_name": "nurse-1", "password": "not this one"}

    answers = [guesser.send("/sign-in", "by-name", **guess) for _ in range(ON_ONE_DEVICE.free + 1)]

    assert [answer.status_code for answer in answers] == [422] * ON_ONE_DEVICE.free + [429]
    assert answers[-1].headers["retry-after"] == "30"
    said = Page(answers[-1].text).text
    assert "Too many tries failed. The next one is looked at in 30 seconds." in said
    assert guesser.send("/sign-in", "by-name", **right).status_code == 429
    assert known.send("/sign-in", "by-name", **right).status_code == 303
    hospital.clock.now = at(0.5)
    assert guesser.send("/sign-in", "by-name", **right).status_code == 303


def test_who_does_not_exist_waits_like_who_does(hospital: Hospital) -> None:
    browser = with_password(hospital)
    pairs = ({"sign_in_name": name, "password": "not this one"} for name in ("nobody", "nurse-1"))

    said = [
        [
            (answer.status_code, Page(answer.text).errors, answer.headers.get("retry-after"))
            for answer in (
                browser.send("/sign-in", "by-name", **pair) for _ in range(ON_ONE_DEVICE.free + 2)
            )
        ]
        for pair in pairs
    ]

    assert said[0] == said[1]


def test_a_form_from_elsewhere_signs_nobody_in(hospital: Hospital) -> None:
    browser = with_password(hospital)
    pair = {"sign_in_name": "nurse-1", "password": PASSWORD}
    browser.get("/sign-in")

    answers = [browser.post("/sign-in", pair | extra) for extra in ({}, {"csrf_token": "0" * 64})]

    assert [answer.status_code for answer in answers] == [403, 403]
    assert all(COOKIE not in str(answer.headers) for answer in answers)


@pytest.mark.parametrize(
    ("person", "path"),
    [
        (NURSE, "/mine"),
        (CHARGE, "/wards/w1/board"),
        (MANAGER, "/wards/w1/review"),
        (ADMINISTRATOR, "/wards"),
        (OUTSIDER, "/mine"),
    ],
)
def test_each_role_begins_where_its_work_is(hospital: Hospital, person: Actor, path: str) -> None:
    assert hospital.visit(person).get("/").headers["location"] == path


def test_who_is_on_no_ward_begins_with_the_wards(hospital: Hospital) -> None:
    lonely = Actor("lonely", "Lou Lonely", NURSE.role, frozenset(), staff_id="lonely")
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(lonely), now=at(0))
    browser = hospital.visit(lonely)

    assert browser.get("/").headers["location"] == "/wards"
    assert "You are not on any ward yet." in browser.see("/wards").text


def test_one_is_brought_to_where_one_wanted_to_go(hospital: Hospital) -> None:
    browser = with_password(hospital)
    first = browser.get("/wards/w1/board?nurse=nurse-2")
    assert first.headers["location"] == "/sign-in?next=/wards/w1/board%3Fnurse%3Dnurse-2"

    form = browser.see(first.headers["location"]).form("/sign-in")
    answer = browser.post(
        "/sign-in", form.filled({"sign_in_name": "nurse-1", "password": PASSWORD})
    )

    assert answer.headers["location"] == "/wards/w1/board?nurse=nurse-2"


@pytest.mark.parametrize(
    "path", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere", "x", "/a\nb"]
)
def test_one_is_never_brought_elsewhere(hospital: Hospital, path: str) -> None:
    browser = with_password(hospital)
    form = browser.see("/sign-in").form("/sign-in")

    answer = browser.post(
        "/sign-in",
        form.filled({"sign_in_name": "nurse-1", "password": PASSWORD, "next": path}),
    )

    assert answer.headers["location"] == "/"


def test_signing_out_ends_the_session_at_once(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    secret = nurse.client.cookies[COOKIE]
    assert nurse.see("/wards/w1/board").text

    assert nurse.done("/wards/w1/board", "/sign-out") == "/sign-in"

    nurse.client.cookies.set(COOKIE, secret)
    assert nurse.get("/wards/w1/board").status_code == 303


def test_signing_out_by_a_form_from_elsewhere_does_nothing(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)

    assert nurse.post("/sign-out", {}).status_code == 403
    assert nurse.get("/wards/w1/board").status_code == 200


def test_a_session_ends_after_its_length(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    hospital.clock.now = at(13 * 60 + 1)

    assert nurse.get("/policies").headers["location"] == "/sign-in?next=/policies"


def test_an_expired_session_behind_a_part_sends_the_page_to_sign_in(hospital: Hospital) -> None:
    nobody = hospital.visit()
    nobody.headers = PART | {"HX-Current-URL": "http://testserver/episodes/e1?recorded=1"}

    answers = [nobody.get("/episodes/e1/standing"), nobody.post("/episodes/e1/events", {})]

    assert [(a.status_code, a.headers["hx-redirect"], a.text) for a in answers] == [
        (401, "/sign-in?next=/episodes/e1", "")
    ] * 2


@pytest.mark.parametrize("cookie", ["", "x", "0" * 500, '"quoted"', "a b"])
def test_a_cookie_of_nobody_is_nobody(hospital: Hospital, cookie: str) -> None:
    browser = hospital.visit()

    answer = browser.get("/wards/w1/board", cookie=f"{COOKIE}={cookie}; other=1")

    assert answer.status_code == 303


def test_somebody_who_no_longer_works_here_is_signed_out(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    with hospital.store.write() as session:
        left = replace(staff_draft(NURSE), active=False)
        enter_staff(session, ADMINISTRATOR, left, now=at(0))

    assert nurse.get("/policies").status_code == 303
