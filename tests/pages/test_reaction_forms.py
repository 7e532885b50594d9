"""What is recorded on the page of a suspected reaction, through its forms, and by whom."""

from dataclasses import dataclass, field

import pytest

from server.domain.payloads import (
    Observed,
    Paused,
    Payload,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Resumed,
    Warned,
    WarningChecked,
)
from server.domain.words import Kind, Phase, Recheck
from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.recordings import Typed
from tests.services.charting import local_policy
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
)

PAGE = "/episodes/e1/reaction"
AGREES, WRONG = Recheck.AGREES, Recheck.WRONG


@dataclass(frozen=True)
class Recording:
    """What is typed into which form of the page, and the payload it becomes."""

    form: str
    expected: Payload
    typed: Typed = field(default_factory=dict)
    phase: str = "reaction"


RECORDINGS = {
    "suspected, one touch": Recording(
        "at-once-reaction_suspected", ReactionSuspected(), phase="running"
    ),
    "suspected, with signs": Recording(
        "reaction-reaction_suspected",
        ReactionSuspected(("rigors", "itchy palms")),
        {"symptoms": ["rigors"], "symptoms_other": "itchy palms"},
        phase="running",
    ),
    "further signs": Recording(
        "reaction-reaction_suspected", ReactionSuspected(("rash",)), {"symptoms": ["rash"]}
    ),
    "a step": Recording("step-tell_clinician-reaction_step", ReactionStep("tell_clinician")),
    "identity agrees": Recording(
        "step-agrees-reaction_step", ReactionStep("recheck_identity", AGREES)
    ),
    "identity is wrong": Recording(
        "step-wrong-reaction_step", ReactionStep("recheck_identity", WRONG)
    ),
    "a step at another time": Recording(
        "reaction-reaction_step",
        ReactionStep("recheck_identity", AGREES),
        {"step": "recheck_identity", "result": "agrees"},
    ),
    "observations": Recording(
        "reaction-observed", Observed(pulse_per_min=124), {"pulse_per_min": "124"}
    ),
    "closed": Recording(
        "reaction-reaction_closed",
        ReactionClosed("undetermined", "possible"),
        {"outcome": "undetermined", "classification": "possible"},
    ),
    "closed, in words": Recording(
        "reaction-reaction_closed",
        ReactionClosed("reaction confirmed: settled"),
        {"outcome": "reaction confirmed", "outcome_text": "settled"},
    ),
}


@pytest.mark.parametrize("name", RECORDINGS)
def test_what_is_done_is_recorded_through_its_form(hospital: Hospital, name: str) -> None:
    wanted = RECORDINGS[name]
    in_phase(hospital, wanted.phase)

    leads_to = hospital.visit(NURSE).done(PAGE, wanted.form, **wanted.typed)

    event = hospital.charting.episode(hospital.clock.now).events[-1]
    assert (event.payload, event.happened_at, event.staff_id, leads_to) == (
        wanted.expected,
        hospital.clock.now,
        "nurse-1",
        f"{PAGE}?recorded={event.id}",
    )


def test_stopping_records_the_pause_and_says_so(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    assert "The pause of the infusion is recorded with it." in nurse.see(PAGE).text

    page = nurse.see(nurse.done(PAGE, "step-stop-reaction_step"))

    read = hospital.charting.episode(at(31))
    assert [one.payload for one in read.events[-2:]] == [
        ReactionStep("stop"),
        Paused("suspected reaction"),
    ]
    assert "Recorded: Reaction step done 10:30, Stop: clamp the line, keep the bag." in page.text
    assert "Recorded: Paused 10:30, suspected reaction, with it." in page.text
    assert "Paused 10:30; not recorded as stopped" in page.text
    assert read.picture.episode.phase is Phase.PAUSED


def test_a_double_tap_is_one_step_and_one_pause(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("step-stop-reaction_step")

    answers = [nurse.post(form.action, form.filled({})) for _ in range(2)]

    kinds = [one.kind for one in hospital.charting.episode(at(31)).events]
    assert [one.status_code for one in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert (kinds.count(Kind.REACTION_STEP), kinds.count(Kind.PAUSED)) == (1, 1)


def test_the_charge_nurse_checks_a_warned_unit_and_nobody_else(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    hospital.charting.record(20, Warned("e9", "7", "G7"), actor=NURSE)
    form = hospital.visit(CHARGE).see("/episodes/e1").form("warning-warning_checked")

    for person in (NURSE, MANAGER, ADMINISTRATOR):
        visit = hospital.visit(person)
        mine = visit.see("/episodes/e1")
        assert "warning-warning_checked" not in [one.key for one in mine.forms]
    token = hospital.visit(NURSE)
    stolen = token.see("/episodes/e1").form("record-note")
    answer = token.post(
        stolen.action,
        form.filled({"text": "fine"}) | {"csrf_token": stolen.values["csrf_token"]},
    )
    assert answer.status_code == 403

    charge = hospital.visit(CHARGE)
    charge.done("/episodes/e1", "warning-warning_checked", text="band, bag and form agree")
    last = hospital.charting.episode(at(31)).events[-1]
    assert last.payload == WarningChecked("band, bag and form agree")
    assert "Phone the laboratory" not in charge.see("/episodes/e1").text


@pytest.mark.parametrize("person", [MANAGER, ADMINISTRATOR])
def test_who_may_not_chart_sees_the_steps_without_buttons(
    hospital: Hospital, person: Actor
) -> None:
    in_phase(hospital, "reaction")

    page = hospital.visit(person).see(PAGE)

    assert "Tell the clinician" in page.text
    assert 'id="more-title"' not in page.html
    assert [form.key for form in page.forms if form.key] == []


@pytest.mark.parametrize(
    ("person", "status"),
    [(OUTSIDER, 403), (OUTSIDE_CHARGE, 403), (MANAGER, 403), (ADMINISTRATOR, 403), (NURSE, 303)],
)
def test_who_may_not_chart_here_is_refused_the_act(
    hospital: Hospital, person: Actor, status: int
) -> None:
    in_phase(hospital, "reaction")
    form = hospital.visit(NURSE).see(PAGE).form("step-stop-reaction_step")
    visit = hospital.visit(person)
    own = visit.see("/wards/w1/board" if person.is_on("w1") else "/wards/w2/board")
    token = next(form.values["csrf_token"] for form in own.forms if "csrf_token" in form.values)

    answer = visit.post(PAGE, form.filled({}) | {"csrf_token": token})

    assert answer.status_code == status
    assert "Alder" not in answer.text or person.is_on("w1")


@pytest.mark.parametrize("path", [PAGE, f"{PAGE}/standing"])
def test_nobody_from_elsewhere_sees_it(hospital: Hospital, path: str) -> None:
    in_phase(hospital, "reaction")

    for visit, status in ((hospital.visit(OUTSIDER), 403), (hospital.visit(), 303)):
        answer = visit.get(path)
        assert answer.status_code == status
        assert "Alder" not in answer.text
    assert hospital.visit(NURSE).get("/episodes/none/reaction").status_code == 404


def test_a_form_without_our_token_stores_nothing(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("step-stop-reaction_step")
    before = len(hospital.charting.episode(at(31)).events)

    answer = nurse.post(PAGE, form.filled({}) | {"csrf_token": ["another"]})

    assert answer.status_code == 403
    assert len(hospital.charting.episode(at(31)).events) == before


def test_a_refused_closing_keeps_what_was_typed(hospital: Hospital) -> None:
    strict = '[reaction.close_requires]\nvalue = ["tell_laboratory"]\n'
    hospital.charting.put_in_force(local_policy(strict), when=-100)
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)

    answer = nurse.send(
        PAGE, "reaction-reaction_closed", outcome="undetermined", outcome_text="she is well"
    )

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "the policy asks for these steps first: Tell the transfusion laboratory" in page.text
    assert page.form("reaction-reaction_closed").values["outcome_text"] == ["she is well"]
    assert "fold-reaction-reaction_closed" in page.opened_details


def test_a_closing_without_an_outcome_is_refused(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")

    answer = hospital.visit(NURSE).send(PAGE, "reaction-reaction_closed")

    assert answer.status_code == 422
    assert "reaction-reaction_closed-outcome" in Page(answer.text).errors


def test_a_step_on_a_suspicion_that_was_closed_meanwhile_says_why(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("step-samples-reaction_step")
    hospital.charting.record(25, ReactionClosed("not a reaction"))

    answer = nurse.post(form.action, form.filled({}))

    assert answer.status_code == 409
    assert "no reaction is suspected" in Page(answer.text).text


def test_a_set_that_a_colleague_recorded_meanwhile_is_named(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("reaction-observed")
    hospital.charting.observe(27, actor=COLLEAGUE)

    answer = nurse.post(form.action, form.filled({"pulse_per_min": "124"}))

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "Cleo Colleague recorded the same for 10:27" in page.text
    assert page.form("reaction-observed").values["pulse_per_min"] == ["124"]


def test_resuming_asks_for_the_clinician_while_a_reaction_is_suspected(
    hospital: Hospital,
) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(21, Paused())
    nurse = hospital.visit(NURSE)

    refused = Page(nurse.send("/episodes/e1", "running-resumed").text)
    assert "name the clinician who decided" in refused.errors["running-resumed-decided_by"]
    nurse.done("/episodes/e1", "running-resumed", decided_by="Dr Ash")

    assert hospital.charting.episode(at(31)).events[-1].payload == Resumed(decided_by="Dr Ash")
    assert "decided by Dr Ash" in nurse.see("/episodes/e1").text


def test_a_pause_without_a_reaction_asks_for_nobody(hospital: Hospital) -> None:
    in_phase(hospital, "paused")

    form = hospital.visit(NURSE).see("/episodes/e1").form("running-resumed")

    assert "decided_by" not in form.values
