"""The page of an identity check as people without scripts use it, on one device and on two."""

import pytest

from server.domain.tries import ELSEWHERE
from server.pages.identity import SEAT
from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import PART, PASSWORD, Hospital
from tests.pages.identity_page import FIRST_READ, HERE, SPOKEN, facts, read_all, sign, with_password
from tests.pages.reading import Page
from tests.services.identity import BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY, bedside
from tests.services.people import COLLEAGUE, MANAGER, NURSE, OUTSIDER


@pytest.fixture
def ward(hospital: Hospital) -> Hospital:
    """Unit `e1` was issued with all that its label says; five minutes later."""
    bedside(hospital.charting)
    hospital.clock.now = at(5)
    return hospital


# ---- two devices ----


def test_two_people_on_two_devices_match(ward: Hospital) -> None:
    nurse, colleague = ward.visit(NURSE), ward.visit(COLLEAGUE)

    assert read_all(nurse) == HERE
    assert "Waiting for the second person." in nurse.see(HERE).text
    leads = read_all(colleague)

    recorded = ward.charting.episode(9).events[-1]
    assert leads == f"/episodes/e1?recorded={recorded.id}"
    assert "Recorded: Identity checked" in colleague.see(leads).text
    (fact,) = facts(ward)
    assert (fact.first_by, fact.second_by, fact.passed) == ("nurse-1", "nurse-2", True)
    for browser in (nurse, colleague):
        text = browser.see(HERE).text
        assert "Everything agrees" in text
        assert "Both have read every item" in text


def test_the_second_device_shows_nothing_that_the_first_read(ward: Hospital) -> None:
    nurse, colleague = ward.visit(NURSE), ward.visit(COLLEAGUE)
    fresh = colleague.get(HERE).text
    read_all(nurse)

    html = colleague.get(HERE).text
    part = colleague.get(HERE, **PART).text
    own = nurse.get(HERE).text

    leaks = [text for text in FIRST_READ if text in html or text in part]
    allowed = [text for text in FIRST_READ if text in fresh]
    assert leaks == allowed
    assert [text for text in FIRST_READ[3:] if text in html] == []
    assert all(text in own for text in FIRST_READ if text != "=%5100")
    assert "Nina Nurse has begun a check. You are the second person" in Page(html).text


def test_the_first_device_hears_how_far_the_second_is(ward: Hospital) -> None:
    nurse, colleague = ward.visit(NURSE), ward.visit(COLLEAGUE)
    read_all(nurse)
    said = [Page(nurse.get(f"{HERE}/waiting").text).text]
    for scan in (BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY):
        colleague.done(HERE, "scan", scan=scan)
        said.append(Page(nurse.get(f"{HERE}/waiting").text).text)
    colleague.done(HERE, "spoken", confirmed=["name"])
    said.append(Page(nurse.get(f"{HERE}/waiting").text).text)
    colleague.done(HERE, "spoken", confirmed=["date_of_birth"])

    assert said == [
        "… Waiting for the second person.",
        "… Cleo Colleague is reading: 5 items left.",
        "… Cleo Colleague is reading: 3 items left.",
        "… Cleo Colleague is reading: 2 items left.",
        "… Cleo Colleague is reading: 1 item left.",
    ]
    part = nurse.get(f"{HERE}/waiting", **PART)
    assert (part.status_code, part.headers["HX-Redirect"]) == (200, HERE)
    assert nurse.get(f"{HERE}/waiting").headers["location"] == HERE


def test_the_second_who_is_done_first_waits_for_the_first(ward: Hospital) -> None:
    nurse, colleague = ward.visit(NURSE), ward.visit(COLLEAGUE)
    nurse.done(HERE, "scan", scan=BAND)
    read_all(colleague)

    page = colleague.see(HERE)

    assert "Nina Nurse is reading: 5 items left." in page.text
    assert {form.key for form in page.forms}.isdisjoint({"scan", "spoken", "second"})


def test_a_page_that_swaps_parts_is_sent_on_to_the_unit(ward: Hospital) -> None:
    nurse, colleague = ward.visit(NURSE), ward.visit(COLLEAGUE)
    read_all(nurse)
    for scan in (BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY):
        colleague.done(HERE, "scan", scan=scan)
    form = colleague.see(HERE).form("spoken")

    answer = colleague.post(HERE, form.filled({"confirmed": SPOKEN}), **PART)

    recorded = ward.charting.episode(9).events[-1].id
    assert answer.headers["HX-Redirect"] == f"/episodes/e1?recorded={recorded}"


# ---- one device ----


def test_the_second_signs_on_the_same_device_and_reads_there(ward: Hospital) -> None:
    with_password(ward, COLLEAGUE)
    nurse = ward.visit(NURSE)
    fresh = nurse.get(HERE).text
    read_all(nurse)

    page = sign(nurse, COLLEAGUE)

    assert "Cleo Colleague reads, as the second person" in page.text
    assert [text for text in FIRST_READ if text in page.html] == [
        text for text in FIRST_READ if text in fresh
    ]
    assert "Nina Nurse, bedside nurse" in page.text
    assert read_all(nurse).startswith("/episodes/e1?recorded=")
    (fact,) = facts(ward)
    assert (fact.first_by, fact.second_by) == ("nurse-1", "nurse-2")
    assert ward.charting.episode(9).events[-1].recorded_by == "nurse-2"
    assert "Nina Nurse as the patient says it" in nurse.see(HERE).text


def test_the_seat_is_a_cookie_of_this_page_alone(ward: Hospital) -> None:
    with_password(ward, COLLEAGUE)
    nurse = ward.visit(NURSE)
    read_all(nurse)

    answer = nurse.send(HERE, "second", sign_in_name="nurse-2", password=PASSWORD)

    (cookie,) = [c for c in answer.headers.get_list("set-cookie") if c.startswith(SEAT)]
    assert all(rule in cookie for rule in ("HttpOnly", "SameSite=strict", f"Path={HERE}"))


@pytest.mark.parametrize(
    ("person", "status", "why"),
    [
        (NURSE, 409, "you are the first checker; the second has to be another person"),
        (MANAGER, 403, "You may not do this: the role manager may not chart."),
        (OUTSIDER, 403, "You may not do this: this is not one of your wards."),
    ],
    ids=lambda one: getattr(one, "id", None),
)
def test_not_everybody_can_sign_as_the_second(
    ward: Hospital, person: Actor, status: int, why: str
) -> None:
    with_password(ward, person)
    nurse = ward.visit(NURSE)
    read_all(nurse)

    answer = nurse.send(HERE, "second", sign_in_name=person.id, password=PASSWORD)

    assert (answer.status_code, why in Page(answer.text).text) == (status, True)
    assert SEAT not in str(answer.headers)


def test_a_wrong_password_signs_nobody_and_keeps_the_name(ward: Hospital) -> None:
    with_password(ward, COLLEAGUE)
    nurse = ward.visit(NURSE)
    read_all(nurse)

    answer = nurse.send(HERE, "second", sign_in_name="nurse-2", password="not this one")

    page = Page(answer.text)
    assert (answer.status_code, "Name or password is wrong." in page.text) == (422, True)
    assert page.form("second").values["sign_in_name"] == ["nurse-2"]
    assert page.form("second").values["password"] == [""]


def test_guessing_the_second_password_is_slowed_as_signing_in_is(ward: Hospital) -> None:
    with_password(ward, COLLEAGUE)
    nurse = ward.visit(NURSE)
    read_all(nurse)

    guess = {"sign_in_name": "nurse-2", "password": "not this one"}
    answers = [nurse.send(HERE, "second", **guess).status_code for _ in range(ELSEWHERE.free)]
    right = nurse.send(HERE, "second", sign_in_name="nurse-2", password=PASSWORD)

    assert (answers, right.status_code) == ([422] * ELSEWHERE.free, 429)
    assert (
        "Too many tries failed. The next one is looked at in 30 seconds." in Page(right.text).text
    )
    elsewhere = nurse.send("/sign-in", "/sign-in", **guess)
    assert elsewhere.status_code == 429
