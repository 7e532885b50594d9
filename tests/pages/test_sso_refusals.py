"""Whoever is not let in by a provider is told why, and what to do; nobody is shut out by it."""

import logging
from datetime import timedelta
from typing import Any

import pytest

from server.pages.visitors import COOKIE
from server.services.sso_begun import MOST_STRANGERS, OF_ONE
from server.store.sso import Begun, Browser, add_begun
from tests.pages.hospital import PASSWORD, Hospital
from tests.pages.reading import Page
from tests.pages.shared_device import BADGES, PIN
from tests.pages.sso import BACK, GO, come_back, go, provider, sso, use, why
from tests.provider.process import RunningProvider
from tests.services.people import ADMINISTRATOR, NURSE
from tests.services.trail import said

__all__ = ["provider", "sso"]


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


def test_whoever_presses_on_and_on_waits_and_keeps_nobody_else_out(
    sso: Hospital, provider: RunningProvider
) -> None:
    """A browser waits ten seconds after five; strangers wait for each other, a known device not."""
    known, browser, strange = (sso.visit() for _ in range(3))
    come_back(known, provider.visit(go(known), "nina"))
    known.send("/my-sign-in", "/sign-out")
    sso.clock.now += timedelta(minutes=1)
    last = [go(browser) for _ in range(OF_ONE)][-1]
    again = browser.send("/sign-in?next=/mine", GO)
    with sso.store.write() as session:
        for number in range(MOST_STRANGERS):
            begun = Begun("/", None, sso.clock.now)
            add_begun(session, begun, f"state {number}", Browser(f"visit {number}", None))
    crowd = strange.send("/sign-in", GO)

    words = "Too many sign-ins at the staff login were begun just now. Try again in"
    assert [(one.status_code, one.headers["retry-after"]) for one in (again, crowd)] == [
        (429, "10"),
        (429, "1"),
    ]
    assert f"{words} 10 seconds, or sign in another way." in why(again)[1]
    assert f"{words} 1 second, or sign in another way." in why(crowd)[1]
    assert Page(again.text).form(GO).values["next"] == ["/mine"]
    assert come_back(known, provider.visit(go(known), "nina")).status_code == 303
    assert come_back(browser, provider.visit(last, "nina")).status_code == 303


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
    form = Page(answer.text).form("by-badge")
    badge = form.filled({"badge": BADGES[NURSE.id], "pin": PIN})
    assert browser.post(form.action, badge).headers["location"] == "/mine"


def test_a_provider_that_hangs_or_is_gone_keeps_nobody_waiting_or_out(
    sso: Hospital, provider: RunningProvider
) -> None:
    provider.be(hangs="card")
    sso.app.state.provider._patience = 0.3
    browser = sso.visit()

    answer = browser.send("/sign-in", GO)

    words = "The staff login does not answer. Try again in a minute."
    assert why(answer) == (503, f"{words} You can sign in another way below.")
    form = Page(answer.text).form("by-name")
    pair = form.filled({"sign_in_name": NURSE.id, "password": PASSWORD})
    assert browser.post(form.action, pair).status_code == 303


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
