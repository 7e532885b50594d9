"""The pages of webhooks: entered, their secret shown once, tended, and what was sent there."""

from dataclasses import replace

import pytest

from server.domain.delivery import Answer
from server.services.list_deliveries import send_trial
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.services.mail import FAILED, PAGER, TAKEN, answered, enter, pager, states, stored
from tests.services.people import ADMINISTRATOR, CHARGE, W2
from tests.store.facts import counted_queries

HERE = "/wards/w1/webhooks"
ONE = f"{HERE}/pager"
TYPED: dict[str, str | list[str]] = {
    "name": "Bleeps",
    "address": "https://bleep.example/in?key=7",
    "stages": ["overdue", "escalate"],
    "wards": ["w1", "w2"],
}


@pytest.fixture
def admin(hospital: Hospital) -> Visit:
    """An administrator, and the pagers of ward `w1`."""
    enter(hospital.store)
    return hospital.visit(ADMINISTRATOR)


def press(visit: Visit, act: str, path: str = ONE) -> Page:
    """Press a button on the page of a webhook; the page that comes."""
    answer = visit.send(path, f"{path}/{act}")
    if answer.status_code == 303:
        return visit.see(answer.headers["location"])
    return Page(answer.text)


def test_a_webhook_is_entered_and_its_secret_shown_once(hospital: Hospital) -> None:
    admin = hospital.visit(ADMINISTRATOR)
    form = admin.see(f"{HERE}/new").form(HERE)
    sent = form.filled(TYPED)

    first = admin.post(HERE, sent)
    again = admin.post(HERE, sent)

    href = again.headers["location"]
    made = stored(hospital.store, href.rsplit("/", 1)[1])
    assert (first.status_code, again.status_code, made.secret in first.text) == (200, 303, True)
    assert (made.name, made.address, sorted(made.stages), made.wards) == (
        "Bleeps",
        "https://bleep.example/in?key=7",
        ["escalate", "overdue"],
        frozenset({"w1", "w2"}),
    )
    assert made.secret not in admin.see(href).html
    assert admin.see(HERE).links[href] == "Bleeps"
    assert form.values["wards"] == ["w1"]
    assert sorted(form.values["stages"]) == ["escalate", "overdue", "second_escalate"]


@pytest.mark.parametrize(
    ("wrong", "field", "why"),
    [
        ({"address": "http://bleep.example/"}, "address", "is not encrypted; expected https://…"),
        ({"address": "https://a:b@bleep.example/"}, "address", "holds a name or password"),
        ({"name": ""}, "name", "nothing was entered"),
        ({"stages": []}, "stages", "none was chosen"),
        ({"wards": []}, "wards", "none was chosen"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_what_is_wrong_is_said_beside_its_field_and_what_was_typed_stays(
    hospital: Hospital, wrong: dict[str, str | list[str]], field: str, why: str
) -> None:
    admin = hospital.visit(ADMINISTRATOR)

    answer = admin.send(f"{HERE}/new", HERE, **(TYPED | wrong))

    page = Page(answer.text)
    kept = page.form(HERE).values
    assert (answer.status_code, list(page.errors)) == (422, [f"f-{field}"])
    assert why in page.errors[f"f-{field}"]
    expected = {name: [v] if isinstance(v, str) else v for name, v in (TYPED | wrong).items()}
    assert {name: kept.get(name, []) for name in TYPED} == expected


def test_a_webhook_is_changed_for_all_wards_and_keeps_its_secret(
    hospital: Hospital, admin: Visit
) -> None:
    before = stored(hospital.store)

    leads_to = admin.done(f"{ONE}/change", f"{ONE}/change", name="Bleeps", wards="*")

    after = stored(hospital.store)
    assert (leads_to, after) == (ONE, replace(before, name="Bleeps", wards=None))
    assert admin.see(f"{ONE}/change").form(f"{ONE}/change").values["wards"] == ["*"]
    assert "all wards" in admin.see(ONE).text


def test_a_pause_a_trial_and_what_came_of_it_are_seen(hospital: Hospital, admin: Visit) -> None:
    store = hospital.store

    paused = press(admin, "pause")
    going = press(admin, "resume")
    waits = press(admin, "trial")
    answered(store, 0, FAILED)
    tried = admin.see(ONE)
    answered(store, 1, TAKEN)
    taken = admin.see(ONE)

    assert "paused since 10:00" in paused.text
    assert f"{ONE}/trial" not in [form.action for form in paused.forms]
    assert "How it stands on" in going.text
    assert (
        "waits for its first try 0 none yet" in waits.text,
        'hx-trigger="every 2s"' in waits.html,
    ) == (True, True)
    assert "waits for its next try 1 HTTP 500, 10:00" in tried.text
    assert "delivered 10:01 2 HTTP 204, 10:01" in taken.text
    assert ('hx-trigger="every 2s"' in taken.html, "1 delivered" in taken.text) == (False, True)
    part = admin.get(f"{ONE}/messages").text
    assert part.startswith('<div id="messages">')
    assert Page(part).text in taken.text


def test_a_message_is_sent_again_and_not_while_it_waits(hospital: Hospital, admin: Visit) -> None:
    press(admin, "trial")
    waits = [form.action for form in admin.see(ONE).forms if "again" in form.action]
    answered(hospital.store, 0, TAKEN)
    (form,) = [form for form in admin.see(ONE).forms if "again" in form.action]

    first = admin.post(form.action, form.filled({}))
    twice = admin.post(form.action, form.filled({}) | {"once": ["another"]})

    assert (waits, first.status_code, twice.status_code) == ([], 303, 409)
    assert "it waits to be sent" in Page(twice.text).text
    assert states(hospital.store, 0) == [("waiting", 1, "HTTP 204")]


def test_a_secret_is_exchanged_and_shown_once(hospital: Hospital, admin: Visit) -> None:
    form = admin.see(ONE).form(f"{ONE}/secret")
    sent = form.filled({})

    first, again = admin.post(form.action, sent), admin.post(form.action, sent)

    webhook = stored(hospital.store)
    assert (webhook.secret in first.text, again.status_code) == (True, 303)
    page = admin.see(ONE)
    assert [one in page.html for one in (webhook.secret, webhook.old_secret or "?")] == [False] * 2
    assert "the one before it signs too until Wed 4 Mar 10:00" in page.text


def test_a_removed_webhook_is_gone(admin: Visit) -> None:
    page = press(admin, "remove")

    assert "No other program is told of reminders yet." in page.text
    assert admin.get(ONE).status_code == 404


def test_one_that_is_off_is_shown_on_its_page_the_list_and_the_board(
    hospital: Hospital, admin: Visit
) -> None:
    charge, strip = hospital.visit(CHARGE), f"{HERE}/strip"
    quiet = charge.see(strip).text
    press(admin, "trial")
    answered(hospital.store, 0, Answer(410))

    why = "off since 10:00: it answered that it is gone for good (HTTP 410)"
    assert quiet == ""
    assert charge.see(strip).text == f"Webhooks ! No reminders go to Pagers: {why}"
    assert [why in admin.see(path).text for path in (HERE, ONE)] == [True, True]
    assert f'data-refill="{strip}"' in charge.see("/wards/w1/board").html
    assert strip not in admin.see("/wards/w1/board").html
    assert "How it stands on" in press(admin, "resume").text


def test_a_charge_nurse_sees_the_host_and_no_button(hospital: Hospital, admin: Visit) -> None:
    press(admin, "trial")
    answered(hospital.store, 0, TAKEN)
    charge = hospital.visit(CHARGE)

    page = charge.see(ONE)

    assert ("pager.example" in page.text, PAGER.address in page.html) == (True, False)
    assert [form.action for form in page.forms if form.action.startswith(HERE)] == []
    assert f"{HERE}/new" not in charge.see(HERE).links
    assert PAGER.address in admin.see(ONE).text


def test_the_webhook_of_another_ward_is_not_here(hospital: Hospital, admin: Visit) -> None:
    enter(hospital.store, pager(id="far", name="Far", wards=W2))

    assert admin.get(f"{HERE}/far").status_code == 404
    assert hospital.visit(CHARGE).get(f"{HERE}/far").status_code == 403
    assert admin.get("/wards/w2/webhooks/far").status_code == 200
    assert admin.post(f"{ONE}/dance", {}).status_code == 422


def test_the_time_of_the_ward_is_shown(hospital: Hospital) -> None:
    enter(hospital.store, pager(wards=None))
    admin = hospital.visit(ADMINISTRATOR)
    press(admin, "pause", "/wards/w2/webhooks/pager")

    hospital.clock.now = at(5)
    assert "paused since 23:00" in admin.see("/wards/w2/webhooks").text


@pytest.mark.parametrize("path", [HERE, f"{HERE}/strip"])
def test_three_webhooks_take_as_many_queries_as_one(hospital: Hospital, path: str) -> None:
    admin, counts = hospital.visit(ADMINISTRATOR), []
    for number in range(3):
        enter(hospital.store, pager(id=f"p{number}", name=f"Pager {number}"))
        with hospital.store.write() as session:
            send_trial(session, ADMINISTRATOR, f"p{number}", "w1", now=at(0))
        answered(hospital.store, 0, Answer(410))
        with counted_queries(hospital.store) as sent:
            admin.see(path)
        counts.append(
            sum("webhook" in statement or "FROM ward" in statement for statement, _ in sent)
        )

    assert counts == [counts[0]] * 3
    assert counts[0] > 0
