"""Sign in at a real provider, and out of it; whoever is not let in is told why, and what to do."""

import logging
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from server.api.guards import CONTENT_POLICY
from server.app import create_app
from server.clock import utc_now
from server.pages.visitors import COOKIE
from server.services.sso_open import open_provider
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import BADGES, PIN, secret_in, who
from tests.provider.process import RunningProvider, onward_of, running_provider
from tests.services.people import ADMINISTRATOR, COLLEAGUE, NURSE
from tests.services.trail import said

GO: Final = "elsewhere"
BACK: Final = "http://testserver/sign-in/back?"


@pytest.fixture(scope="module")
def provider() -> Iterator[RunningProvider]:
    with running_provider() as started:
        yield started


@pytest.fixture
def sso(shared: Hospital, provider: RunningProvider) -> Iterator[Hospital]:
    """The hospital with a provider, at which Nina's account is entered.

    Its clock shows the time, because the provider's does.
    """
    state, before = shared.app.state, shared.app.state.settings
    use(shared, provider, sso_claim="preferred_username")
    shared.clock.now = utc_now()
    provider.be()
    enter(shared, "nina")
    yield shared
    state.settings, state.provider = before, None


def use(hospital: Hospital, provider: RunningProvider, **other: Any) -> None:
    """Have the board use the provider, by these settings."""
    state = hospital.app.state
    state.settings = replace(state.settings, **provider.settings(**other))
    state.provider = open_provider(state.settings.sign_on)


def enter(hospital: Hospital, account: str, staff_id: str = NURSE.id) -> None:
    """Enter somebody's account as an administrator does."""
    here = f"/wards/w1/staff/{staff_id}/account"
    hospital.visit(ADMINISTRATOR).done(here, "account", account=account)


def at_a_desk(hospital: Hospital) -> Visit:
    """A browser at which Cleo signed in by her badge."""
    browser = hospital.visit()
    browser.done("/sign-in", "by-badge", badge=BADGES[COLLEAGUE.id], pin=PIN)
    return browser


def go(browser: Visit, path: str = "/sign-in") -> str:
    """Press the button; where the browser goes on to."""
    answer = browser.send(path, GO)
    assert answer.status_code == 200, answer.text[:500]
    return onward_of(answer.text)


def come_back(browser: Visit, back: str) -> Response:
    """Follow the provider's way back."""
    assert back.startswith(BACK)
    return browser.get(back.removeprefix("http://testserver"))


def sign_in(
    browser: Visit, provider: RunningProvider, name: str = "nina", path: str = "/sign-in"
) -> Response:
    """Go there, say who one is, and come back."""
    return come_back(browser, provider.visit(go(browser, path), name))


def why(answer: Response) -> tuple[int, str]:
    """Why nobody was let in, as the page with the other ways says it."""
    page = Page(answer.text)
    assert {form.key for form in page.forms} >= {"by-badge", "by-name", GO}
    assert COOKIE not in str(answer.headers)
    return answer.status_code, page.text.split("You are not signed in ")[1].split(" Sign in with")[
        0
    ]


def test_somebody_whose_account_is_entered_signs_in(
    sso: Hospital, provider: RunningProvider
) -> None:
    browser = sso.visit()

    answer = sign_in(browser, provider, path="/sign-in?next=/wards/w1/board")

    cookie = next(one for one in answer.headers.get_list("set-cookie") if one.startswith(COOKIE))
    assert (answer.status_code, answer.headers["location"]) == (303, "/wards/w1/board")
    assert answer.headers["cache-control"] == "no-store"
    assert all(rule in cookie for rule in ("HttpOnly", "SameSite=lax", "Path=/", "Max-Age=46800"))
    assert who(browser) == (NURSE.id, False)
    trail = said(sso.store, "actor_id", "act", "detail")
    assert (NURSE.id, "signed_in", '{"way":"single sign-on"}') in trail


def test_it_takes_the_place_of_whoever_was_signed_in_and_of_their_secret(
    sso: Hospital, provider: RunningProvider
) -> None:
    browser = at_a_desk(sso)
    before = secret_in(browser)

    sign_in(browser, provider)

    after, old = secret_in(browser), sso.visit()
    old.client.cookies.set(COOKIE, before)
    assert (who(browser), who(old), after == before) == ((NURSE.id, False), ("", False), False)


def test_any_process_of_the_board_can_finish_it(sso: Hospital, provider: RunningProvider) -> None:
    browser = sso.visit()
    back = provider.visit(go(browser), "nina")

    other = create_app(sso.app.state.settings, run_jobs=False, clock=sso.clock)
    with TestClient(other) as client:
        client.cookies.update(browser.client.cookies)
        answer = come_back(Visit(client), back)
        signed_in = who(Visit(client))

    assert (answer.status_code, signed_in) == (303, (NURSE.id, False))
    assert why(come_back(browser, back))[0] == 403


def test_forms_lead_to_no_provider_and_no_header_of_a_request_does(
    sso: Hospital, provider: RunningProvider
) -> None:
    """The page in between is ours, so that the policy of pages names no other site."""
    browser = sso.visit()
    form = browser.see("/sign-in?next=//elsewhere.example").form(GO)
    answer = browser.post(
        form.action, form.filled({}), host="elsewhere.example", forwarded="host=elsewhere.example"
    )

    address = onward_of(answer.text)
    assert address.startswith(f"{provider.issuer}/authorize?")
    assert "redirect_uri=http%3A%2F%2Ftestserver%2Fsign-in%2Fback&" in address
    assert "elsewhere.example" not in answer.text
    for one in (answer, browser.get("/sign-in")):
        assert one.headers["content-security-policy"] == CONTENT_POLICY
        assert one.headers["cache-control"] == "no-store"
    assert come_back(browser, provider.visit(address, "nina")).headers["location"] == "/"


def test_a_form_from_elsewhere_leads_nowhere(sso: Hospital) -> None:
    browser = sso.visit()
    browser.get("/sign-in")

    answers = [
        browser.post("/sign-in/elsewhere", extra) for extra in ({}, {"csrf_token": "0" * 64})
    ]

    assert [answer.status_code for answer in answers] == [403, 403]
    assert ["http-equiv" in answer.text for answer in answers] == [False, False]


def test_an_answer_to_nothing_begun_here_lets_nobody_in(
    sso: Hospital, provider: RunningProvider
) -> None:
    """Of another browser, so that nobody is signed in as somebody else unawares; and twice."""
    browser, other = sso.visit(), sso.visit()
    other.get("/sign-in")
    back = provider.visit(go(browser), "nina")

    strangers = [why(come_back(one, back)) for one in (sso.visit(), other)]
    first, second = come_back(browser, back), come_back(browser, back)
    made_up = [why(come_back(browser, f"{BACK}{said}")) for said in ("", "state=x&code=y")]

    words = "belongs to no sign-in that was begun in this browser in the last ten minutes."
    assert first.status_code == 303
    for status, told in (*strangers, why(second), *made_up):
        assert (status, words in told) == (403, True)


@pytest.mark.parametrize(
    ("name", "mood", "status", "words"),
    [
        ("", {}, 403, "The staff login did not let you in, or you left it."),
        ("olga", {}, 403, "belongs to nobody here yet. Sign in another way and link it"),
        ("nina", {"spoil": "nonce"}, 403, "What the staff login answered cannot be relied on."),
        ("nina", {"spoil": "expired"}, 403, "The clock of the staff login and the clock of this"),
        ("nina", {"spoil": "asked long ago"}, 403, "let you through without asking who you are."),
        ("nina", {"amr": ["pwd"]}, 403, "did not ask for all that this board requires"),
        ("nina", {"token": "x", "status": 503}, 503, "The staff login does not answer."),
        (
            "nina",
            {"token": '{"error":"no\\nway"}', "status": 400},
            502,
            "refused to say who you are.",
        ),
    ],
)
def test_whoever_is_not_let_in_is_told_why_and_can_sign_in_another_way(
    sso: Hospital,
    provider: RunningProvider,
    caplog: pytest.LogCaptureFixture,
    name: str,
    mood: dict[str, Any],
    status: int,
    words: str,
) -> None:
    use(sso, provider, sso_claim="preferred_username", sso_amr=("mfa",))
    browser = sso.visit()
    address = go(browser, "/sign-in?next=/mine")
    provider.be(**mood)

    with caplog.at_level(logging.INFO):
        answer = come_back(browser, provider.visit(address, name))

    refused, told = why(answer)
    assert (refused, words.casefold() in told.casefold()) == (status, True), told
    assert said(sso.store, "actor_id", "act")[-1] == ("nobody", "sign_in_failed")
    assert not [one for one in ("olga", "nina", "way\n") if one in caplog.text]
    by_badge = {"badge": BADGES[NURSE.id], "pin": PIN}
    form = Page(answer.text).form("by-badge")
    assert browser.post(form.action, form.filled(by_badge)).headers["location"] == "/mine"


def test_a_provider_that_hangs_or_is_gone_keeps_nobody_waiting_or_out(
    sso: Hospital, provider: RunningProvider
) -> None:
    provider.be(hangs="card")
    sso.app.state.provider._patience = 0.3
    browser = sso.visit()

    answer = browser.send("/sign-in", GO)

    words = "The staff login does not answer. You can sign in another way below."
    assert why(answer) == (503, f"{words} Or try again in a minute.")
    pair = {"sign_in_name": NURSE.id, "password": PASSWORD}
    form = Page(answer.text).form("by-name")
    assert browser.post(form.action, form.filled(pair)).status_code == 303


def test_where_passwords_are_for_administrators_nobody_else_gets_in_by_one(
    sso: Hospital, provider: RunningProvider
) -> None:
    use(sso, provider, passwords_for_all=False)
    admin = sso.visit(ADMINISTRATOR)
    admin.done("/wards/w1/staff/admin", "/wards/w1/staff/admin", password=PASSWORD)
    right, badge = {"password": PASSWORD}, {"badge": BADGES[NURSE.id], "pin": PIN}

    nurse = sso.visit().send("/sign-in", "by-name", sign_in_name=NURSE.id, **right)
    wrong = sso.visit().send("/sign-in", "by-name", sign_in_name="admin", password="not this one")

    assert [Page(one.text).text.count("is not an administrator’s.") for one in (nurse, wrong)] == [
        1,
        1,
    ]
    assert (nurse.status_code, COOKIE in str(nurse.headers)) == (422, False)
    assert sso.visit().done("/sign-in", "by-name", sign_in_name="admin", **right) == "/"
    assert sso.visit().done("/sign-in", "by-badge", **badge) == "/"
    assert "For administrators alone." in sso.visit().see("/sign-in").text


def test_signing_out_ends_it_here_and_at_the_provider(
    sso: Hospital, provider: RunningProvider
) -> None:
    browser = sso.visit()
    jar = provider.jar()
    come_back(browser, provider.visit(go(browser), "nina", jar))
    secret = secret_in(browser)

    answer = browser.send("/my-sign-in", "/sign-out")

    address = onward_of(answer.text)
    assert address.startswith(f"{provider.issuer}/leave?id_token_hint=")
    assert "You are signed out here." in Page(answer.text).text
    assert provider.visit(address, "", jar) == "http://testserver/sign-in"
    assert provider.knows(jar) is False
    browser.client.cookies.set(COOKIE, secret)
    assert who(browser) == ("", False)


def test_signing_out_ends_it_here_whatever_the_provider_does(
    sso: Hospital, provider: RunningProvider
) -> None:
    browser, by_badge = sso.visit(), sso.visit(COLLEAGUE)
    sign_in(browser, provider)
    use(sso, provider, sso_issuer="http://127.0.0.1:1")

    assert browser.done("/my-sign-in", "/sign-out") == "/sign-in"
    assert by_badge.done("/my-sign-in", "/sign-out") == "/sign-in"
    assert who(browser) == ("", False)


def test_a_locked_screen_is_opened_by_the_provider_too(
    sso: Hospital, provider: RunningProvider
) -> None:
    browser = sso.visit()
    sign_in(browser, provider)
    form = browser.see("/my-sign-in").form("/sign-out")
    browser.post("/lock", form.filled({}))
    assert who(browser) == (NURSE.id, True)

    answer = sign_in(browser, provider, path="/locked?next=/mine")

    assert (answer.headers["location"], who(browser)) == ("/mine", (NURSE.id, False))


def test_a_board_without_a_provider_has_none_of_it(shared: Hospital) -> None:
    browser = shared.visit(NURSE)

    found = [
        GO in browser.see("/sign-in").html,
        "Account at" in browser.see("/my-sign-in").text,
        browser.get("/sign-in/back?state=x&code=y").status_code,
        browser.get("/wards/w1/staff/nurse-1/account").status_code,
        shared.visit(ADMINISTRATOR).get("/wards/w1/staff/nurse-1/account").status_code,
    ]

    assert found == [False, False, 404, 403, 404]
