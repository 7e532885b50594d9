"""Link the own account of single sign-on, and those of others; undo it."""

from datetime import timedelta
from typing import Final

from server.pages.forms.entry import MISSING
from server.services.sso_begun import OF_ONE
from tests.pages.hospital import PASSWORD, Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import PIN, who
from tests.pages.sso import at_a_desk, come_back, provider, sign_in, sso, use
from tests.provider.process import RunningProvider, onward_of
from tests.services.people import ADMINISTRATOR, COLLEAGUE, NURSE

__all__ = ["provider", "sso"]

OWN: Final = "/my-sign-in"
HERE: Final = "/wards/w1/staff/nurse-1/account"


def go_linking(browser: Visit, secret: str = PIN) -> str:
    """Ask to link the own account; where the browser goes on to."""
    answer = browser.send(OWN, "own-account", secret=secret)
    return onward_of(answer.text)


def test_one_links_ones_own_account_and_undoes_it(sso: Hospital, provider: RunningProvider) -> None:
    cleo = sso.visit(COLLEAGUE)
    assert "No account of yours is linked." in cleo.see(OWN).text

    empty = cleo.send(OWN, "own-account")
    wrong = cleo.send(OWN, "own-account", secret="not this one")
    back = come_back(cleo, provider.visit(go_linking(cleo), "cleo"))
    page = cleo.see(back.headers["location"])
    anywhere = sso.visit()
    sign_in(anywhere, provider, "cleo")
    undone = cleo.done(OWN, "undo-account")

    assert [Page(one.text).errors for one in (empty, wrong)] == [
        {"a-secret": MISSING},
        {"a-secret": "This is neither your PIN nor your password."},
    ]
    assert "Your account is linked: from now on it signs you in." in page.text
    assert "cleo . It was first used or linked" in page.text
    assert "You are signed out everywhere but here." in cleo.see(undone).text
    assert (who(anywhere), who(cleo)) == (("", False), (COLLEAGUE.id, False))
    assert sign_in(anywhere, provider, "cleo").status_code == 403


def test_who_just_came_by_it_sets_a_pin_without_a_password_and_later_with_one(
    sso: Hospital, provider: RunningProvider
) -> None:
    """So that they can unlock the screen; not everybody has a password who comes that way."""
    browser, new = sso.visit(), {"pin": "739016", "pin_again": "739016"}
    sign_in(browser, provider)
    asked = "password" in browser.see(OWN).form("pin").values

    done = browser.done(OWN, "pin", **new)
    sso.clock.now += timedelta(minutes=11)
    later = browser.get("/locked?next=/my-sign-in").text
    unlocked = browser.send("/locked", "unlock", secret="739016")
    again = browser.send(OWN, "pin", **new)

    assert (asked, done) == (False, f"{OWN}?done=pin")
    assert ("Locked" in later, unlocked.status_code) == (True, 303)
    assert Page(again.text).errors == {"f-password": MISSING}


def test_linking_waits_after_five_as_signing_in_does(sso: Hospital) -> None:
    browser = at_a_desk(sso)
    for _ in range(OF_ONE):
        go_linking(browser)

    answer = browser.send(OWN, "own-account", secret=PIN)

    assert (answer.status_code, answer.headers["retry-after"]) == (429, "10")
    assert "Too many sign-ins at the staff login were begun just now." in Page(answer.text).text


def test_what_was_begun_to_link_is_finished_by_the_same_person_alone(
    sso: Hospital, provider: RunningProvider
) -> None:
    """Somebody else who takes the device over meanwhile gets nobody's account."""
    browser = at_a_desk(sso)
    back = provider.visit(go_linking(browser, PASSWORD), "cleo")
    sign_in(browser, provider, "nina")

    answer = come_back(browser, back)
    taken = sso.visit(COLLEAGUE)
    theirs = come_back(taken, provider.visit(go_linking(taken), "nina"))
    left = come_back(taken, provider.visit(go_linking(taken), ""))

    assert (answer.status_code, "Not linked" in answer.text) == (403, True)
    assert (theirs.status_code, "linked to somebody else" in theirs.text) == (409, True)
    assert (left.status_code, "did not let you in" in left.text) == (403, True)
    assert sign_in(sso.visit(), provider, "cleo").status_code == 403
    assert "No account of yours is linked." in taken.see(OWN).text


def test_nothing_is_linked_by_a_form_from_elsewhere_or_while_the_provider_is_away(
    sso: Hospital, provider: RunningProvider
) -> None:
    nina = sso.visit(NURSE)
    forged = nina.post(f"{OWN}/account", {"secret": PIN, "csrf_token": "0" * 64})
    provider.be(card={})
    away = nina.send(OWN, "own-account", secret=PIN)

    assert (forged.status_code, "http-equiv" in forged.text) == (403, False)
    assert (away.status_code, "does not answer" in away.text) == (503, True)
    assert "another way below" not in away.text


def test_an_administrator_enters_an_account_and_undoes_it(
    sso: Hospital, provider: RunningProvider
) -> None:
    admin, nina = sso.visit(ADMINISTRATOR), sso.visit()
    waiting = admin.see(HERE).text

    sign_in(nina, provider)
    linked = admin.see(HERE).text
    listed = admin.see("/wards/w1/staff").links
    empty = admin.send(HERE, "account", account=" ")
    taken = admin.send("/wards/w1/staff/nurse-2/account", "account", account="nina")
    again = admin.see(admin.done(HERE, "account", account="nina.2")).text
    gone = who(nina)
    admin.done(HERE, "account", account="nina")
    sign_in(nina, provider)
    forged = [admin.post(f"{HERE}{what}", {"csrf_token": "x"}) for what in ("", "/undo")]
    undone = admin.see(admin.done(HERE, "undo"))

    assert "Nobody has come with it yet. The first who does is taken for them." in waiting
    assert "It was first used or linked" in linked
    assert (listed[HERE], listed["/wards/w1/staff/nurse-2/account"]) == ("entered", "none")
    assert "account" in Page(empty.text).errors.popitem()[0]
    assert (taken.status_code, "linked to somebody else" in taken.text) == (409, True)
    assert [one.status_code for one in forged] == [403, 403]
    assert ("nina.2" in again, gone) == (True, ("", False))
    assert "the account opens nothing any more, and Nina Nurse is signed out" in undone.text
    assert who(nina) == ("", False)
    assert sign_in(nina, provider).status_code == 403


def test_an_account_of_a_provider_that_is_used_no_more_says_so(
    sso: Hospital, provider: RunningProvider
) -> None:
    use(sso, provider, sso_issuer="https://new.example")

    assert "does not use any more, and opens nothing." in sso.visit(ADMINISTRATOR).see(HERE).text
