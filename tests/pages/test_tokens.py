"""The page of tokens: made, shown once, used, and taken back after a question."""

from dataclasses import replace
from datetime import timedelta

from server.domain.words import Role
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_staff import enter_staff
from server.services.tokens import actor_of_token, list_tokens, make_token
from server.store.tokens import Token
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import ADMINISTRATOR, staff_draft

HERE = "/tokens"
TYPED: dict[str, str | list[str]] = {"name": "Blood bank", "wards": ["w1"]}


def kept(hospital: Hospital) -> tuple[Token, ...]:
    """The tokens of the hospital."""
    with hospital.store.read() as session:
        return list_tokens(session, ADMINISTRATOR)


def test_a_token_is_made_shown_once_used_and_taken_back(hospital: Hospital) -> None:
    admin = hospital.visit(ADMINISTRATOR)
    form = admin.see(f"{HERE}/new").form(HERE)
    sent = form.filled(TYPED)

    first, again = admin.post(HERE, sent), admin.post(HERE, sent)
    (made,) = kept(hospital)
    shown = Page(first.text)
    secret = next(word for word in shown.text.split() if actor_is(hospital, word, made.id))
    asked = {"Authorization": f"Bearer {secret}"}
    hospital.clock.now = at(0) + timedelta(minutes=2)
    before = hospital.visit().get("/api/wards", **asked).status_code
    used = admin.see(HERE)
    back = next(href for href in used.links if href.endswith("/take-back"))
    question = admin.see(back)
    href = admin.done(back, "take-back")
    after = hospital.visit().get("/api/wards", **asked).status_code

    assert form.values["role"] == [Role.INTERFACE.value]
    assert (first.status_code, again.headers["location"]) == (200, HERE)
    assert (made.name, made.role, made.wards) == ("Blood bank", Role.INTERFACE, frozenset({"w1"}))
    assert (made.made_by, made.used_at) == ("admin", None)
    assert secret not in used.html
    assert "interface Ward 1 10:00, Ada Admin 10:02 Take it back" in used.text
    assert "Take back the token of Blood bank? Last used: 10:02." in question.text
    assert (before, after, href) == (200, 401, HERE)
    assert kept(hospital) == (replace(made, revoked_at=at(2), used_at=at(2)),)
    assert "No other program has a token" in admin.see(HERE).text
    assert "It was taken back already" in admin.see(back).text


def actor_is(hospital: Hospital, secret: str, token_id: str) -> bool:
    """Whether a text is the secret of a token."""
    with hospital.store.read() as session:
        actor = actor_of_token(session, secret)
    return actor is not None and actor.id == token_id


def test_what_is_missing_is_said_and_nothing_made(hospital: Hospital) -> None:
    admin = hospital.visit(ADMINISTRATOR)

    answer = admin.send(f"{HERE}/new", HERE, name=" ", wards=[])

    page = Page(answer.text)
    assert (answer.status_code, sorted(page.errors)) == (422, ["f-name", "f-wards"])
    assert page.errors["f-wards"] == "none was chosen; expected at least one"
    assert kept(hospital) == ()


def test_who_sets_up_one_ward_is_told_what_reaches_it_and_ends_only_what_is_theirs(
    hospital: Hospital,
) -> None:
    one_ward = replace(ADMINISTRATOR, id="admin-1", staff_id="admin-1", wards=frozenset({"w1"}))
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(one_ward), now=at(-600))
        for name, wards in (("Ours", ["w1"]), ("Theirs", ["w2"]), ("Both", ["w1", "w2"])):
            make_token(session, name, Role.INTERFACE, wards, by=AT_THE_COMMAND_LINE, now=at(-60))
    ids = {one.name: one.id for one in kept(hospital)}
    admin = hospital.visit(one_ward)

    page = admin.see(HERE)
    options = admin.see(f"{HERE}/new").form(HERE).options["wards"]
    refused = {
        name: admin.get(f"{HERE}/{token_id}/take-back").status_code
        for name, token_id in ids.items()
    }

    assert "Theirs" not in page.text
    assert "Both interface Ward 1, 1 more 09:00, at the command line never" in page.text
    assert [href for href in page.links if href.endswith("take-back")] == [
        f"{HERE}/{ids['Ours']}/take-back"
    ]
    assert options == ["w1"]
    assert refused == {"Ours": 200, "Theirs": 404, "Both": 403}


def test_an_administrator_of_one_ward_sees_the_ward_they_entered(hospital: Hospital) -> None:
    one_ward = replace(ADMINISTRATOR, id="admin-1", staff_id="admin-1", wards=frozenset({"w1"}))
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(one_ward), now=at(-600))
    admin = hospital.visit(one_ward)
    admin.see("/wards")

    href = admin.done("/wards/new", "/wards", name="Ward 3", timezone="Europe/London")

    listed = admin.see(href)
    board = next(href for href, name in listed.links.items() if name == "Ward 3")
    assert "Ward 2" not in listed.text
    assert admin.get(board).status_code == 200
