"""The own PIN, where one is signed in, and the badges that others record."""

from typing import Final

import pytest

from server.pages.devices import device_words
from server.pages.forms.entry import MISSING
from server.pages.visitors import form_token
from server.services.actor import Actor
from tests.pages.hospital import PASSWORD, Hospital
from tests.pages.reading import Page
from tests.pages.shared_device import PIN, by_script, secret_in, who
from tests.services.people import ADMINISTRATOR, CHARGE, NURSE, OUTSIDE_CHARGE

LEFT: Final = [["note", "/episodes/e1/events", "Record the note", [["text", "Itches", "Note"]]]]
IDLE_MINUTES: Final = 11


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


def test_one_changes_ones_own_password_and_is_signed_out_elsewhere(shared: Hospital) -> None:
    browser, elsewhere, here = shared.visit(NURSE), shared.visit(NURSE), "/my-sign-in"
    new = "kettle orbit lantern moss"

    empty = browser.send(here, "own-password")
    wrong = browser.send(here, "own-password", password=PIN, new_password=new)
    weak = browser.send(here, "own-password", password=PASSWORD, new_password="password123456")
    still = elsewhere.get("/mine").status_code
    done = browser.done(here, "own-password", password=PASSWORD, new_password=new)

    assert [Page(one.text).errors for one in (empty, wrong, weak)] == [
        dict.fromkeys(("w-password", "w-new_password"), "nothing was entered; this is needed"),
        {"w-password": "is not your password"},
        {"w-new_password": "is soon guessed; expected words that nobody would try, four are good"},
    ]
    assert (still, elsewhere.get("/mine").status_code) == (200, 303)
    assert "Your password is changed." in browser.see(done).text
    sign_in = {"sign_in_name": NURSE.id, "password": new}
    assert shared.visit().send("/sign-in", "/sign-in", **sign_in).status_code == 303


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
