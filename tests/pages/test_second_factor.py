"""Signing in with a code beside the password: set up, asked for, lost, and taken away."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

import pytest
import segno
from pyotp import TOTP

from server.domain.tries import ELSEWHERE
from server.pages.half_way import HALF_COOKIE
from server.pages.qr_view import QUIET, qr_view
from server.pages.visitors import COOKIE
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.half_sign_in import HALF_LASTS
from server.services.one_time_codes import RECOVERY_CODES
from server.services.second_factor import read_factor
from server.settings import ALL_STAFF, WHO_OVERSEES
from tests.domain.builders import at
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import BADGES, PIN
from tests.services.people import ADMINISTRATOR, COLLEAGUE, MANAGER, NURSE, staff_draft

HERE: Final = "/my-sign-in/second-factor"
BADGE: Final = f"/wards/w1/staff/{MANAGER.id}/badge"
STEP: Final = timedelta(seconds=30)


@pytest.fixture
def staffed(hospital: Hospital) -> Hospital:
    """The hospital with a manager and a nurse who have passwords."""
    with hospital.store.write() as session:
        for person in (MANAGER, NURSE):
            draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
            enter_staff(session, ADMINISTRATOR, draft, now=at(0))
    return hospital


@pytest.fixture
def asking(staffed: Hospital) -> Iterator[Hospital]:
    """The same on a board that asks those who oversee wards for a second factor."""
    plain = staffed.app.state.settings
    staffed.app.state.settings = replace(plain, second_factor=WHO_OVERSEES)
    yield staffed
    staffed.app.state.settings = plain


def shown(secret: str, now: datetime) -> str:
    """What the app shows."""
    return TOTP(secret.replace(" ", "")).at(now)


def begun(hospital: Hospital, person: Actor = MANAGER) -> str:
    """The secret that somebody is setting up."""
    with hospital.store.read() as session:
        return read_factor(session, person.id, now=hospital.clock.now).begun


def set_up(hospital: Hospital) -> tuple[Visit, str, list[str]]:
    """The manager sets one up; their browser, the secret and the recovery codes."""
    visit = hospital.visit(MANAGER)
    visit.done(HERE, "begin", password=PASSWORD)
    secret = begun(hospital)
    answer = visit.send(HERE, "confirm", code=shown(secret, hospital.clock.now))
    return visit, secret, codes_of(answer.text)


def codes_of(html: str) -> list[str]:
    """The recovery codes on a page."""
    shown_codes = Page(html).html.partition('class="recovery-codes">')[2].partition("</ol>")[0]
    return [one.removeprefix("<li>") for one in shown_codes.split("</li>") if one]


def give_password(hospital: Hospital, person: Actor = MANAGER, next_path: str = "") -> Visit:
    """A browser in which the password was given, and where it led."""
    visit = hospital.visit()
    page = f"/sign-in?next={next_path}" if next_path else "/sign-in"
    href = visit.done(page, "by-name", sign_in_name=person.id, password=PASSWORD)
    visit.headers["x-led-to"] = href
    return visit


def test_it_is_set_up_with_an_app_and_asked_for_from_then_on(staffed: Hospital) -> None:
    own, secret, codes = set_up(staffed)
    staffed.clock.now = at(0) + STEP
    visit = give_password(staffed, next_path="/wards/w1/review")
    href = visit.headers["x-led-to"]
    before = visit.get("/wards/w1/review").status_code
    wrong = visit.send(href, "code", code="000000")
    landed = visit.done(href, "code", code=shown(secret, at(0) + STEP))

    assert (len(codes), len(set(codes))) == (RECOVERY_CODES, RECOVERY_CODES)
    assert href == "/sign-in/code?next=%2Fwards%2Fw1%2Freview"
    assert (before, wrong.status_code, COOKIE in str(wrong.headers)) == (303, 422, False)
    assert "does not fit, or was used already" in Page(wrong.text).errors["f-code"]
    assert landed == "/wards/w1/review"
    assert visit.get("/wards/w1/review").status_code == 200
    assert HALF_COOKIE not in visit.client.cookies
    assert f"{RECOVERY_CODES} of {RECOVERY_CODES} recovery codes" in own.see("/my-sign-in").text
    assert secret not in own.see(HERE).html
    assert codes[0] not in own.see(HERE).html


def test_a_code_opens_once_and_a_password_alone_nothing(staffed: Hospital) -> None:
    _, secret, (first, *_) = set_up(staffed)
    code = shown(secret, at(0) + STEP)
    staffed.clock.now = at(0) + STEP
    give_password(staffed).done("/sign-in/code", "code", code=code)
    second = give_password(staffed)

    again = second.send("/sign-in/code", "code", code=code)
    lost = second.done("/sign-in/code", "recovery", recovery=first.lower())
    third = give_password(staffed)
    used = third.send("/sign-in/code", "recovery", recovery=first)
    kept = Page(used.text).form("recovery").values["recovery"]
    empty = third.send("/sign-in/code", "recovery", recovery=" ")

    assert (again.status_code, lost, used.status_code) == (422, "/", 422)
    assert (kept, list(Page(used.text).errors)) == ([first], ["f-recovery"])
    assert list(Page(empty.text).errors) == ["f-recovery"]
    assert third.get("/wards/w1/review").status_code == 303
    assert "7 of 8" in second.see("/my-sign-in").text


def test_the_password_is_good_for_ten_minutes_and_its_browser_alone(staffed: Hospital) -> None:
    _, secret, _ = set_up(staffed)
    visit = give_password(staffed)
    other = staffed.visit()
    form = visit.see("/sign-in/code").form("code")
    staffed.clock.now = at(0) + STEP
    sent = form.filled({"code": shown(secret, staffed.clock.now)})

    nobody = [other.get("/sign-in/code"), other.post("/sign-in/code", sent)]
    forged = visit.post("/sign-in/code", {**sent, "csrf_token": "x"})
    staffed.clock.now = at(0) + HALF_LASTS
    late = visit.post("/sign-in/code", sent)

    assert {answer.headers["location"] for answer in (*nobody, late)} == {"/sign-in"}
    assert forged.status_code == 403
    assert COOKIE not in visit.client.cookies


def test_guessing_codes_is_slowed_down_however_often_the_password_is_given(
    staffed: Hospital,
) -> None:
    set_up(staffed)
    answers = [
        give_password(staffed).send("/sign-in/code", "code", code="000000")
        for _ in range(ELSEWHERE.free + 1)
    ]

    assert [one.status_code for one in answers] == [422] * ELSEWHERE.free + [429]
    assert answers[-1].headers["retry-after"] == "30"
    assert "Too many tries failed" in Page(answers[-1].text).text


def test_a_board_that_asks_for_it_has_it_set_up_before_anybody_is_in(asking: Hospital) -> None:
    visit = give_password(asking)
    page = visit.see("/sign-in/code")
    secret = begun(asking)
    wrong = visit.send("/sign-in/code", "code", code="123")
    answer = visit.send("/sign-in/code", "code", code=shown(secret, asking.clock.now))
    nurse = give_password(asking, NURSE)

    assert " ".join(secret[n : n + 4] for n in range(0, 32, 4)) in page.text
    assert qr_view(
        TOTP(secret).provisioning_uri(name=MANAGER.id, issuer_name="Fourth Hour")
    ).path in (page.html)
    assert (wrong.status_code, "f-code" in Page(wrong.text).errors) == (422, True)
    assert len(codes_of(answer.text)) == RECOVERY_CODES
    assert visit.get("/wards/w1/review").status_code == 200
    assert nurse.headers["x-led-to"] == "/"
    assert "This board asks you for one." in visit.see(HERE).text
    refused = visit.post(
        f"{HERE}/off", {**visit.see(HERE).form("codes").filled({"password": PASSWORD})}
    )
    assert (refused.status_code, "this board asks for it" in refused.text.lower()) == (409, True)


def test_a_board_may_ask_it_of_nurses_too_whose_badge_and_pin_are_two_as_they_are(
    shared: Hospital,
) -> None:
    """Every way in then shows two factors (OWASP ASVS 5.0, 6.3.3)."""
    settings = shared.app.state.settings
    shared.app.state.settings = replace(settings, second_factor=ALL_STAFF)
    with shared.store.write() as session:
        draft = replace(staff_draft(NURSE), sign_in_name=NURSE.id, password=PASSWORD)
        enter_staff(session, ADMINISTRATOR, draft, now=at(0))

    visit = give_password(shared, NURSE, "/mine")
    before = visit.get("/mine").status_code
    codes = codes_of(
        visit.send("/sign-in/code", "code", code=shown(begun(shared, NURSE), at(0))).text
    )
    desk = shared.visit()
    by_badge = desk.done("/sign-in", "by-badge", badge=BADGES[COLLEAGUE.id], pin=PIN)

    assert (visit.headers["x-led-to"], before) == ("/sign-in/code?next=%2Fmine", 303)
    assert len(codes) == RECOVERY_CODES
    assert visit.get("/mine").status_code == 200
    assert "This board asks you for one." in visit.see(HERE).text
    assert (by_badge, desk.get("/mine").status_code) == ("/", 200)


def test_one_makes_new_recovery_codes_moves_to_another_phone_and_turns_it_off(
    staffed: Hospital,
) -> None:
    visit, first, codes = set_up(staffed)

    wrong = visit.send(HERE, "codes", password="not this one")
    renewed = codes_of(visit.send(HERE, "codes", password=PASSWORD).text)
    visit.done(HERE, "begin", password=PASSWORD)
    second = begun(staffed)
    missing = visit.send(HERE, "confirm", code=" ")
    moved = visit.send(HERE, "confirm", code=shown(second, at(0)))
    href = visit.done(HERE, "off", password=PASSWORD)

    assert (wrong.status_code, list(Page(wrong.text).errors)) == (422, ["codes-password"])
    assert not {*codes} & {*renewed}
    assert (first != second, len(codes_of(moved.text))) == (True, RECOVERY_CODES)
    assert list(Page(missing.text).errors) == ["confirm-code"]
    assert "your password alone signs you in" in visit.see(href).text
    assert give_password(staffed).headers["x-led-to"] == "/"
    assert visit.get(f"{HERE}/none").status_code == 405
    assert visit.post(f"{HERE}/none", {}).status_code == 404


def test_an_administrator_takes_it_away_from_whoever_lost_it(staffed: Hospital) -> None:
    set_up(staffed)
    admin = staffed.visit(ADMINISTRATOR)

    before = admin.see(BADGE).text
    href = admin.done(BADGE, "take-factor")

    assert "Set 10:00; 8 of 8 recovery codes are left." in before
    assert "The second factor is taken away" in admin.see(href).text
    assert "None is set" in admin.see(BADGE).text
    assert give_password(staffed).headers["x-led-to"] == "/"


def test_a_script_that_signs_in_is_led_to_the_code(staffed: Hospital) -> None:
    set_up(staffed)
    visit = staffed.visit()
    form = visit.see("/sign-in").form("by-name")
    sent = form.filled({"sign_in_name": MANAGER.id, "password": PASSWORD})

    answer = visit.post("/sign-in", sent, **{"sec-fetch-mode": "cors"})

    assert answer.json() == {"href": "/sign-in/code?next=%2F"}
    assert COOKIE not in visit.client.cookies


@pytest.mark.parametrize("text", ["a", "otpauth://totp/Fourth%20Hour:ann?secret=" + "A" * 32])
def test_the_drawing_covers_the_dark_modules_and_no_other(text: str) -> None:
    """Beside the modules that segno works out; that scanners read them is common practice."""
    view, dark = qr_view(text), set()
    for piece in view.path.split("z")[:-1]:
        start, width = piece.removeprefix("M").split("h")[:2]
        x, y = map(int, start.split())
        dark |= {(x + n, y) for n in range(int(width.split("v")[0]))}

    matrix = segno.make_qr(text, error="m", boost_error=False).matrix
    assert view.size == len(matrix) + 2 * QUIET
    assert dark == {
        (x + QUIET, y + QUIET) for y, row in enumerate(matrix) for x, bit in enumerate(row) if bit
    }
