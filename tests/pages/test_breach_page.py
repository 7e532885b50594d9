"""The page of one breach: what was shown and said then, and the cause that somebody gives."""

import pytest

from server.domain.payloads import Acknowledged, CauseGiven, Completed
from server.domain.words import ClockName, Kind
from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.mail import TAKEN, answered, enter
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE

FIRST = ClockName.FIRST_CHECK
HREF = "/episodes/e1/breaches/first_check/1"
FORM = "cause-cause_given"


def late_check(hospital: Hospital) -> None:
    """Unit `e1` of Nina runs; its first check is done at 38 and charted at 52 min."""
    charting = hospital.charting
    enter(hospital.store, when=-500)
    charting.run(nurse_id="nurse-1")
    charting.tick_each(60, at(11), at(31))
    answered(hospital.store, 31, TAKEN)
    charting.record(33, Acknowledged(FIRST, "nurse-1"))
    charting.tick(34)
    charting.observe(38, now=52)
    hospital.clock.now = at(60)


def given(hospital: Hospital) -> list[tuple[str, int | None, str, str | None, str]]:
    """Every cause of the unit as it stands in the log."""
    return [
        (
            event.payload.clock,
            event.payload.n,
            event.payload.cause,
            event.payload.text,
            event.recorded_by,
        )
        for event in hospital.charting.episode(90).events
        if isinstance(event.payload, CauseGiven)
    ]


def test_the_page_says_what_was_shown_and_what_was_charted_late(hospital: Hospital) -> None:
    late_check(hospital)

    text = hospital.visit(MANAGER).see(HREF).text

    for said in (
        "Open: no cause given Limit Tue 3 Mar 10:30. Met 10:38, 8 min late.",
        "the board said: !!! Overdue First check was due 10:25, limit 10:30 passed just now.",
        "It was done at 10:38 and charted at 10:52, 14 min after.",
        "Boards showed it as passed and not done for 22 min, from 10:30, until 10:52.",
        "14 min of that only because it was not charted yet.",
        "10:10 An entry told that it is owed Limit 10:30.",
        "10:15 Reminder before it was due To Nina Nurse: on the board and on their list.",
        "their list. “I have it” 10:33, Nina Nurse. Also by webhook Pagers: taken 10:31.",
        "10:25 Due 10:25 Reminder when due",
        "10:30 Shown as passed 10:31 Reminder at the limit",
        "10:52 Charted as done Done 10:38, charted 14 min after it was done.",
        "Due after 15 min JPAC Transfusion Handbook",
        "Limit 20 min project default, to be set locally (unverified)",
    ):
        assert said in text, (said, text)


def test_the_page_leads_to_the_unit_and_the_board_as_they_were(hospital: Hospital) -> None:
    late_check(hospital)
    manager = hospital.visit(MANAGER)

    page = manager.see(HREF)

    then = "?at=2026-03-03T10:30:01Z&known_at=2026-03-03T10:30:01Z"
    assert page.links[f"/episodes/e1{then}"] == "The unit as it was then"
    assert page.links[f"/wards/w1/replay{then}"] == "The board at that minute"
    manager.see(f"/episodes/e1{then}")
    manager.see(f"/wards/w1/replay{then}")


@pytest.mark.parametrize("person", [NURSE, CHARGE, MANAGER], ids=lambda one: one.id)
def test_a_cause_is_given_on_the_page(hospital: Hospital, person: Actor) -> None:
    late_check(hospital)
    visit = hospital.visit(person)

    location = visit.done(HREF, FORM, cause="break or handover", text="both at once")

    assert location.startswith(f"{HREF}?recorded=")
    page = visit.see(location)
    assert "Recorded. Explained Limit Tue 3 Mar 10:30." in page.text
    assert f"break or handover : both at once 11:00 {person.name}" in page.text.replace(
        "handover:", "handover :"
    )
    assert given(hospital) == [("first_check", 1, "break or handover", "both at once", person.id)]


def test_one_cause_explains_the_limits_that_were_ticked_and_no_other(hospital: Hospital) -> None:
    late_check(hospital)
    hospital.charting.record(300, Completed())
    hospital.clock.now = at(310)
    nurse = hospital.visit(NURSE)
    page = nurse.see(HREF)
    assert page.form(FORM).options["clock"] == ["first_check:1", "running_check:1", "finish:1"]
    assert page.form(FORM).values["clock"] == ["first_check:1"]

    ticked = ["first_check:1", "finish:1"]
    nurse.done(HREF, FORM, clock=ticked, cause="other", text="the lift stood still")

    assert [one[:3] for one in given(hospital)] == [
        ("first_check", 1, "other"),
        ("finish", 1, "other"),
    ]
    assert "Running check, limit 11:53: open" in nurse.see(HREF).text
    assert "Open 1" in nurse.see("/wards/w1/breaches").text


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({"cause": "other"}, "text", "“other” needs your own words"),
        ({"cause": "other", "text": "  "}, "text", "“other” needs your own words"),
        ({"text": "busy"}, "cause", "nothing was entered"),
        ({"cause": "busy", "text": "x" * 4001}, "cause", "is none of the choices"),
        ({"cause": "venous access", "text": "x" * 4001}, "text", "characters"),
        ({"cause": "venous access", "clock": []}, "clock", "nothing was ticked"),
        ({"cause": "venous access", "clock": ["fate:1"]}, "clock", "none of the limits"),
    ],
)
def test_a_cause_that_says_nothing_is_refused_and_nothing_is_lost(
    hospital: Hospital, typed: dict[str, str | list[str]], field: str, why: str
) -> None:
    late_check(hospital)
    nurse = hospital.visit(NURSE)

    answer = nurse.send(HREF, FORM, **typed)

    assert answer.status_code == 422
    assert f'href="#{FORM}-{field}"' in answer.text
    assert why in answer.text
    assert str(typed.get("text", "")).strip() in answer.text
    assert given(hospital) == []


def test_the_last_cause_counts_and_those_before_stay(hospital: Hospital) -> None:
    late_check(hospital)
    hospital.charting.record(55, CauseGiven(FIRST, "porter late"), actor=MANAGER)
    nurse = hospital.visit(NURSE)

    nurse.done(HREF, FORM, cause="break or handover")

    text = nurse.see(HREF).text
    assert "break or handover the one that counts 11:00 Nina Nurse" in text
    assert "porter late 10:55 Mona Manager, for every breach of this limit until then" in text


def test_taking_a_cause_back_opens_the_breach_and_stays_visible(hospital: Hospital) -> None:
    late_check(hospital)
    hospital.charting.record(55, CauseGiven(FIRST, "porter late"))
    nurse = hospital.visit(NURSE)
    key = next(form.key for form in nurse.see(HREF).forms if form.key.startswith("void-"))

    nurse.done(HREF, key, reason="that was bed 5")

    text = nurse.see(HREF).text
    assert "Open: no cause given" in text
    assert "porter late 10:55 Nina Nurse, for every breach of this limit until then voided" in text
    assert "that was bed 5" in text


def test_a_manager_takes_a_cause_back_with_the_reason_and_nothing_else(hospital: Hospital) -> None:
    """The breach is open again at once, on the list too; nobody else’s entry is theirs to void."""
    late_check(hospital)
    hospital.charting.record(55, CauseGiven(FIRST, "porter late"))
    manager = hospital.visit(MANAGER)
    page = manager.see(HREF)
    key = next(form.key for form in page.forms if form.key.startswith("void-"))
    values = page.form(key).values
    started = hospital.charting.episode(60).events[0].id

    unsaid = manager.send(HREF, key, reason=" ")
    foreign = manager.post(HREF, values | {"event_id": [started], "reason": ["mine"]})
    none = manager.post(HREF, values | {"event_id": ["none"], "reason": ["mine"]})
    manager.done(HREF, key, reason="that was bed 5")

    assert (unsaid.status_code, foreign.status_code, none.status_code) == (422, 403, 403)
    text = manager.see(HREF).text
    assert "Open: no cause given" in text
    assert "voided 11:00 by Mona Manager: that was bed 5" in text
    assert "open : give the cause of First check" in manager.see("/wards/w1/breaches").text
    assert "Mona Manager recorded: voided an entry" in " ".join(manager.see("/audit").text.split())
    assert [form.key for form in hospital.visit(ADMINISTRATOR).see(HREF).forms] == [""]


def test_who_may_not_give_a_cause_is_refused(hospital: Hospital) -> None:
    late_check(hospital)
    administrator = hospital.visit(ADMINISTRATOR)
    token = administrator.see(HREF).forms[0].values["csrf_token"]
    values = {"csrf_token": token, "kind": "cause_given", "form_key": FORM, "once": "a" * 32}
    typed = {"clock": ["first_check:1"], "cause": "venous access", "seen": "1"}

    answer = administrator.post(HREF, values | typed)

    assert (answer.status_code, given(hospital)) == (403, [])
    hospital.charting.record(55, CauseGiven(FIRST, "porter late"))
    cause = hospital.charting.episode(60).events[-1].id
    void = {"kind": "voided", "event_id": cause, "reason": "mine", "seen": "1", "revision": "1"}
    refused = administrator.post(HREF, {"csrf_token": token, "form_key": "void-x", **void})
    assert (refused.status_code, len(given(hospital))) == (403, 1)


def test_nothing_but_a_cause_is_recorded_here(hospital: Hospital) -> None:
    late_check(hospital)
    nurse = hospital.visit(NURSE)
    form = nurse.see(HREF).form(FORM)

    answer = nurse.post(HREF, form.values | {"kind": [Kind.NOTE.value], "text": ["hello"]})

    assert (answer.status_code, "Only a cause is recorded here" in answer.text) == (422, True)


def test_what_was_kept_after_all_asks_for_no_cause(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.charting.tick(31)
    hospital.charting.observe(28, now=52)
    hospital.clock.now = at(60)

    page = hospital.visit(NURSE).see(HREF)

    for said in (
        "Kept after all: no breach Limit Tue 3 Mar 10:30. Met 10:28, in time.",
        "It was done at 10:28 and charted at 10:52, 24 min after.",
        "None of that was a breach: it had been done in time.",
        "It needs none: it was no breach.",
    ):
        assert said in page.text, said
    assert [form.key for form in page.forms] == [""]


def test_a_limit_that_nobody_could_know_of_says_so(hospital: Hospital) -> None:
    charting = hospital.charting
    charting.open(now=41)
    charting.issue()
    hospital.clock.now = at(45)

    text = hospital.visit(NURSE).see("/episodes/e1/breaches/start/1").text

    assert "When the limit passed the unit was not on record yet: no board could show it." in text
    assert "Not met yet, 15 min after the limit." in text


def test_a_breach_that_is_none_is_not_found(hospital: Hospital) -> None:
    late_check(hospital)
    manager = hospital.visit(MANAGER)

    found = {
        "finish/1": 404,
        "first_check/2": 404,
        "lunch/1": 422,
        "first_check/0": 422,
    }
    for path, status in found.items():
        assert manager.get(f"/episodes/e1/breaches/{path}").status_code == status, path
    assert manager.get("/episodes/e7/breaches/first_check/1").status_code == 404
