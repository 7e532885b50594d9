"""The page of a suspected reaction: its steps, its check, what to tell, what it warns of."""

from server.domain.payloads import (
    Issued,
    Observed,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Returned,
    Stopped,
)
from server.domain.words import BloodGroup, Kind, Recheck
from tests.domain.builders import FULL, at
from tests.pages.hospital import PART, Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.services.charting import BEFORE_START, local_policy
from tests.services.people import (
    COLLEAGUE,
    NURSE,
)

PAGE = "/episodes/e1/reaction"
AGREES, WRONG = Recheck.AGREES, Recheck.WRONG


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
            "Signs now not recorded", "Identity again not done")  # fmt: skip
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
    assert "1 warned of on this ward, 1 not yet checked" in page.text
    assert "fold-linked" in page.opened_details
    other = nurse.see("/episodes/e2").text
    assert "Phone the laboratory at once. Identity error found 10:30 in bed 4. Check" in other
    assert "!! identity error, bed 4" in nurse.see("/wards/w1/board").text


def test_where_no_other_unit_came_it_says_so(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)

    nurse.done(PAGE, "step-wrong-reaction_step")

    assert "No other unit came to this ward about the same time." in nurse.see(PAGE).text


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


def test_the_start_of_a_held_unit_is_refused_on_the_page(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    charting = hospital.charting
    charting.open("e2")
    charting.issue("e2", minute=15)
    for payload in BEFORE_START:
        charting.record(25, payload, "e2")

    text = hospital.visit(NURSE).see("/episodes/e2").text

    assert "reaction is suspected with another unit of this patient (bed 4, red cells)" in text


KEPT = "A reaction is suspected: bag and set go back to the laboratory, nothing is thrown away."
BAG = "Return bag and set to the laboratory, sealed"


def test_the_bag_goes_back_and_is_not_offered_to_be_thrown_away(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    early = f"{BAG} Record the end of the unit first: then the return of the bag is recorded with"
    assert early in nurse.see(PAGE).text
    hospital.charting.record(25, Stopped("suspected reaction", given_ml=12))

    unit = nurse.see("/episodes/e1?step=bag")
    offered = [form.key for form in unit.forms if form.key.startswith("bag-")]
    assert (KEPT in unit.text, offered) == (True, ["bag-fate", "bag-returned"])
    assert f"{BAG} The return of the bag is recorded with it. Done now" in nurse.see(PAGE).text
    back = nurse.see(nurse.done(PAGE, "step-return_bag-reaction_step"))

    assert "Recorded: Reaction step done 10:30" in back.text
    assert "Recorded: Returned 10:30, suspected reaction, with it." in back.text
    assert KEPT not in nurse.see("/episodes/e1").text


def test_a_return_that_was_recorded_is_said_and_not_recorded_twice(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(25, Stopped("suspected reaction"))
    hospital.charting.record(26, Returned())
    nurse = hospital.visit(NURSE)

    assert f"{BAG} The return is recorded already, 10:26." in nurse.see(PAGE).text
    nurse.done(PAGE, "step-return_bag-reaction_step")
    kinds = [one.kind for one in hospital.charting.episode(40).events]
    assert kinds.count(Kind.RETURNED) == 1


def test_a_set_says_its_score_and_its_prompts_beside_the_steps(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    nurse = hospital.visit(NURSE)
    before = nurse.see(PAGE).text
    signs = {
        "temperature_c": "39.1", "pulse_per_min": "118", "respirations_per_min": "22",
        "systolic_mmhg": "101", "diastolic_mmhg": "60", "spo2_percent": "95",
        "on_oxygen": "false", "consciousness": "alert",
    }  # fmt: skip

    page = nurse.see(nurse.done(f"{PAGE}?form=observed", "reaction-observed", **signs))

    assert "Last set 10:05 36.8 °C" in before.replace("\N{NO-BREAK SPACE}", " ")
    assert "Pause and assess: temperature 39.1 °C, risen by 2.3 °C" in page.text.replace(
        "\N{NO-BREAK SPACE}", " "
    )
    assert "NEWS2 8 high risk" in page.text
    assert "Last set 10:30" in nurse.see(PAGE).text
    assert "Suspect a reaction" not in page.text


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
