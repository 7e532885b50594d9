"""Behind HTTPS every cookie is one that nobody but this host can have set."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from server.pages.visitors import COOKIE
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.identity_page import with_password
from tests.services.people import NURSE

SESSION = f"__Host-{COOKIE}"


@pytest.fixture
def encrypted(hospital: Hospital) -> Iterator[Hospital]:
    """The hospital as it is behind HTTPS."""
    plain = hospital.app.state.settings
    hospital.app.state.settings = replace(plain, secure_cookies=True)
    yield hospital
    hospital.app.state.settings = plain


def over_https(hospital: Hospital) -> Visit:
    """A browser that came by HTTPS."""
    return Visit(TestClient(hospital.app, base_url="https://testserver"))


def test_every_cookie_is_secure_and_of_this_host_alone(encrypted: Hospital) -> None:
    with_password(encrypted, NURSE)
    nurse = over_https(encrypted)
    first = nurse.get("/sign-in").headers.get_list("set-cookie")
    signed = nurse.send("/sign-in", "/sign-in", sign_in_name=NURSE.id, password=PASSWORD)

    cookies = [*first, *signed.headers.get_list("set-cookie")]
    assert {one.partition("=")[0] for one in cookies} == {
        SESSION,
        "__Host-fourth_hour_visit",
        "__Host-fourth_hour_device",
    }
    for cookie in cookies:
        rules = set(cookie.split("; ")[1:])
        assert rules >= {"Secure", "HttpOnly", "Path=/", "SameSite=lax"}
        assert not any(rule.startswith("Domain") for rule in rules)


def test_the_session_opens_board_and_pages_until_one_signs_out(encrypted: Hospital) -> None:
    with_password(encrypted, NURSE)
    nurse = over_https(encrypted)
    nurse.done("/sign-in", "/sign-in", sign_in_name=NURSE.id, password=PASSWORD)

    pages = ("/wards/w1/board", "/wards/w1/board", "/mine", "/my-sign-in")
    opened = [nurse.get(path).status_code for path in pages]
    nurse.done("/mine", "/sign-out")

    assert opened == [200] * 4
    assert SESSION not in nurse.client.cookies
    assert nurse.get("/wards/w1/board").status_code == 303


def test_a_cookie_that_another_could_have_set_opens_nothing(encrypted: Hospital) -> None:
    secret = encrypted.secret_of(NURSE)
    browser = over_https(encrypted)

    answers = {
        name: browser.get("/wards/w1/board", cookie=f"{name}={secret}").status_code
        for name in (COOKIE, f"__Secure-{COOKIE}", SESSION)
    }

    assert answers == {COOKIE: 303, f"__Secure-{COOKIE}": 303, SESSION: 200}
