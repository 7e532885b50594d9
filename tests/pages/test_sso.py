"""Sign in at a real provider, in any process of the board, and out of both."""

from pyotp import TOTP
from sqlalchemy import select
from starlette.testclient import TestClient

from server.api.guards import CONTENT_POLICY
from server.app import create_app
from server.pages.visitors import COOKIE
from server.services.second_factor import read_factor
from server.settings import WHO_OVERSEES
from server.store.tables import HALF_SIGN_IN
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.pages.shared_device import secret_in, who
from tests.pages.sso import GO, at_a_desk, come_back, enter, go, provider, sign_in, sso, use, why
from tests.provider.process import RunningProvider, onward_of
from tests.services.people import ADMINISTRATOR, COLLEAGUE, NURSE
from tests.services.trail import said

__all__ = ["provider", "sso"]


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


def test_the_board_s_own_second_factor_is_asked_for_unless_the_provider_asked_for_one(
    sso: Hospital, provider: RunningProvider
) -> None:
    enter(sso, "ada", ADMINISTRATOR.id)
    to_wards = "/sign-in?next=/wards"

    answers = []
    for methods in ((), ("mfa",)):
        given = {"sso_amr": methods, "second_factor": WHO_OVERSEES}
        use(sso, provider, sso_claim="preferred_username", **given)
        answers += [sign_in(sso.visit(), provider, name, to_wards) for name in ("ada", "nina")]

    found = [(one.headers["location"], COOKIE in str(one.headers)) for one in answers]
    assert found == [
        ("/sign-in/code?next=%2Fwards", False),
        *[("/wards", True)] * 3,  # a nurse has none; the others have shown theirs at the provider
    ]


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


def test_who_showed_a_code_of_the_board_as_well_is_signed_out_there_too(
    sso: Hospital, provider: RunningProvider
) -> None:
    use(sso, provider, sso_claim="preferred_username", sso_amr=(), second_factor=WHO_OVERSEES)
    enter(sso, "ada", ADMINISTRATOR.id)
    browser = sso.visit()
    sign_in(browser, provider, "ada")
    with sso.store.read() as session:
        secret = read_factor(session, ADMINISTRATOR.id, now=sso.clock.now).begun
        kept = repr(session.rows(select(HALF_SIGN_IN)))
    browser.send("/sign-in/code", "code", code=TOTP(secret).at(sso.clock.now))

    answer = browser.send("/my-sign-in", "/sign-out")

    assert ".ey" not in kept
    assert onward_of(answer.text).startswith(f"{provider.issuer}/leave?id_token_hint=ey")


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
