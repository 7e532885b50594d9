"""The page of a suspected reaction: begun with one touch, ticked step by step, read out, closed."""

from dataclasses import dataclass, field

import pytest

from server.domain.payloads import (
    Issued,
    Observed,
    Paused,
    Payload,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Resumed,
    Stopped,
    Warned,
    WarningChecked,
)
from server.domain.words import BloodGroup, Kind, Phase, Recheck
from server.services.actor import Actor
from tests.domain.builders import FULL, at
from tests.pages.hospital import PART, Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.recordings import Typed
from tests.services.charting import BEFORE_START, local_policy
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


def test_the_page_of_the_unit_has_the_one_button(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)

    leads_to = nurse.done("/episodes/e1", "at-once-reaction_suspected")

    page = nurse.see(leads_to)
    assert leads_to.startswith(f"{PAGE}?recorded=")
    assert "Recorded: Reaction suspected 10:30" in page.text
    assert "Suspected reaction since 10:30" in page.text
    assert "Suspected reaction: to the steps" in nurse.see("/episodes/e1").text


def test_a_unit_that_was_not_started_has_no_reaction_to_suspect(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)

    assert "at-once-reaction_suspected" not in [
        form.key for form in nurse.see("/episodes/e1").forms
    ]
    assert "No reaction is suspected with this unit." in nurse.see(PAGE).text


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


def test_steps_stand_in_their_order_with_time_and_person(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(21, ReactionStep("stop"), actor=COLLEAGUE)
    hospital.charting.record(22, ReactionStep("saline_new_set"))
    hospital.charting.record(23, ReactionStep("the wife was told"))
    hospital.charting.observe(24)

    page = hospital.visit(NURSE).see(PAGE)

    assert "Steps 3 of 11 steps done" in page.text
    assert "Also noted 10:23 Nina Nurse: the wife was told" in page.text
    said = (
        "Stop: clamp the line, keep the bag ✓ done 10:21 Cleo Colleague",
        "0.9 % saline through a new set keeps the vein open ✓ done 10:22 Nina Nurse",
        "Airway, breathing, circulation; call for help Done now",
        "Full observations now, then each time the clock asks ✓ done 10:24 full set",
    )
    assert [one for one in said if one not in page.text] == []
    places = [page.text.index(one) for one in said]
    assert places == sorted(places)
    assert page.html.count('id="tick-abc_and_call" aria-current="step"') == 1
    assert page.html.count('aria-current="step"') == 1


def test_a_step_that_is_done_is_not_offered_again(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(21, ReactionStep("samples"))

    keys = [form.key for form in hospital.visit(NURSE).see(PAGE).forms]

    assert "step-samples-reaction_step" not in keys
    assert "step-document-reaction_step" in keys


def test_the_steps_are_the_policys_in_its_order(hospital: Hospital) -> None:
    own = '[reaction.steps]\nvalue = ["tell_clinician", "stop"]\n'
    hospital.charting.put_in_force(local_policy(own), when=-100)
    in_phase(hospital, "reaction")

    text = hospital.visit(NURSE).see(PAGE).text

    assert "0 of 2 steps done" in text
    assert text.index("Tell the clinician Done now") < text.index("Stop: clamp")


def test_the_check_counts_and_leads_to_its_form(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.observe(22)
    hospital.clock.now = at(45)
    nurse = hospital.visit(NURSE)

    page = nurse.see(PAGE)
    assert "Reaction check 2 10:37 8 min late limit 10:42" in page.text
    opened = nurse.see(f"{PAGE}?form=observed")
    assert "fold-reaction-observed" in opened.opened_details
    assert f"{PAGE}?form=observed#fold-reaction-observed" in page.links


def test_what_to_tell_the_laboratory(hospital: Hospital) -> None:
    charting = hospital.charting
    charting.open()
    charting.issue(
        unit_number="G0999 26 123456", product_code="E0336", blood_group=BloodGroup.O_NEG,
        expires_at=at(60 * 24),
    )  # fmt: skip
    charting.observe(5)
    charting.start()
    charting.record(20, ReactionSuspected(("fever", "sweats")))
    charting.record(21, Stopped("suspected reaction", given_ml=12))
    charting.observe(22, observed=Observed(temperature_c=38.9, pulse_per_min=124))
    charting.record(23, ReactionStep("recheck_identity", AGREES))
    hospital.clock.now = at(30)

    text = hospital.visit(NURSE).see(PAGE).text.replace("\N{NO-BREAK SPACE}", " ")

    said = (
        "Unit number G0999 26 123456", "Product Red cells, E0336", "Group of the unit O−",
        "Patient Alder, Ida, born 4 May 1961", "Record number T000001",
        "Group of the patient not recorded", "Where Ward 1, bed 4",
        "Onset 10:20, 10 min after start", "Volume given 12 of 280 mL", "Halted 10:21",
        "Signs fever, sweats", "Signs before 36.8 °C, pulse 78, respirations 16, 124/76 mmHg at",
        "Signs now 38.9 °C, pulse 124 at 10:22", "Identity again everything agrees, 10:23 Nina",
    )  # fmt: skip
    assert [one for one in said if one not in text] == []


def test_what_is_not_recorded_is_said_to_be_so(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")

    text = hospital.visit(NURSE).see(PAGE).text

    said = ("Unit number not recorded", "Expires not recorded", "Halted not recorded",
            "Signs now not recorded", "Identity again not yet done")  # fmt: skip
    assert [one for one in said if one not in text] == []
    assert "Running: not recorded as stopped" in text


def test_a_wrong_identity_says_whom_to_phone_and_who_is_warned(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    charting = hospital.charting
    charting.open("e2", "p2", bed="5")
    charting.record(1, Issued(unit_number="G7"), "e2")
    nurse = hospital.visit(NURSE)

    page = nurse.see(nurse.done(PAGE, "step-wrong-reaction_step"))

    assert "Phone the laboratory at once. Wrong unit or patient, found 10:30 by Nina" in page.text
    assert page.links["/episodes/e2"] == "Bed 5, red cells G7"
    assert "not yet checked" in page.text
    other = nurse.see("/episodes/e2").text
    assert "Phone the laboratory at once. Identity error found 10:30 in bed 4. Check" in other
    assert "Phone the laboratory at once" in nurse.see("/wards/w1/board").text


def test_where_no_other_unit_came_it_says_so(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)

    nurse.done(PAGE, "step-wrong-reaction_step")

    assert "No other unit came to this ward about the same time." in nurse.see(PAGE).text


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


def test_after_the_closing_the_outcome_stands_and_a_new_one_may_be_suspected(
    hospital: Hospital,
) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(25, ReactionClosed("not a reaction", "ruled out"))
    nurse = hospital.visit(NURSE)

    page = nurse.see(PAGE)

    said = "Suspected 10:20 : fever. Closed 10:25 by Nina Nurse: not a reaction (ruled out)."
    assert said in page.text
    assert "To tell the laboratory" in page.text
    nurse.done(PAGE, "at-once-reaction_suspected")
    assert "No signs recorded yet." in nurse.see(PAGE).text


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


def test_the_start_of_a_held_unit_is_refused_on_the_page(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    charting = hospital.charting
    charting.open("e2")
    charting.issue("e2", minute=15)
    for payload in BEFORE_START:
        charting.record(25, payload, "e2")

    text = hospital.visit(NURSE).see("/episodes/e2").text

    assert "reaction is suspected with another unit of this patient (bed 4, red cells)" in text


def test_two_nurses_see_each_others_ticks(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    hospital.visit(COLLEAGUE).done(PAGE, "step-samples-reaction_step")

    part = nurse.get(f"{PAGE}/standing", **PART)

    assert part.text.lstrip().startswith("<section")
    assert "Samples as local policy says ✓ done 10:30 Cleo Colleague" in Page(part.text).text


def test_where_scripts_run_the_page_is_put_in_place(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)

    part = nurse.get(PAGE, **PART)

    assert part.text.lstrip().startswith('<div id="reaction-page"')


def test_it_never_advises_to_continue_and_never_diagnoses(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.observe(22, observed=FULL)

    text = hospital.visit(NURSE).see(PAGE).text.lower()

    words = ("continue", "carry on", "safe to", "diagnos", "resume", "mild")
    assert [word for word in words if word in text] == []
