"""What a set of vital signs says on the page of a unit: score, a child's signs, prompts."""

from dataclasses import replace

from server.domain.payloads import (
    Observed,
)
from tests.domain.builders import FULL, at
from tests.pages.hospital import Hospital, Visit
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.sets import TYPED, WHOLE, as_child, in_fahrenheit, saved
from tests.services.people import NURSE, P1, register


def test_after_storing_the_score_with_its_parts(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = saved(
        hospital.visit(NURSE),
        **TYPED,
        spo2_percent="95",
        on_oxygen="false",
        consciousness="alert",
    )

    assert (
        "NEWS2 1 low risk Respirations 0 SpO₂ 1 Air or oxygen 0 Systolic 0 Pulse 0 Consciousness 0"
        " Temperature 0 Published response:"
    ) in page.text
    assert "Royal College of Physicians, NEWS2, 2017" in page.text
    assert 'id="prompted"' not in page.html


def test_one_sign_that_scores_three_is_marked(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    hospital.charting.observe(28, observed=replace(WHOLE, pulse_per_min=131))

    page = hospital.visit(NURSE).see("/episodes/e1")

    assert "NEWS2 3 low-medium risk, one sign scores 3" in page.text
    assert '<li class="three">Pulse <b>3</b></li>' in page.html


def test_the_second_scale_is_named(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        register(session, replace(P1, spo2_scale=2), minute=-5)
    in_phase(hospital, "running")
    hospital.charting.observe(28, observed=WHOLE)

    assert "NEWS2 0 low risk, SpO₂ by scale 2" in hospital.visit(NURSE).see("/episodes/e1").text


def test_a_partial_set_has_a_reason_instead_of_a_score(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = saved(hospital.visit(NURSE), pulse_per_min="80")

    assert (
        "A partial set, without: temperature, respirations, blood pressure. It meets no check."
    ) in page.text
    assert "NEWS2 not calculated Incomplete set: respirations, SpO2," in page.text


def test_prompts_are_shown_at_once_with_the_way_to_a_reaction(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = saved(hospital.visit(NURSE), **(TYPED | {"temperature_c": "38.1"}), symptoms=["rash"])

    head = page.html[: page.html.index('id="standing"')]
    assert 'id="prompted"' in head
    assert "Suspect a reaction" in head
    assert (
        "Pause and assess: temperature 38.1 °C, risen by 1.3 °C (1.0 °C or more) from 36.8 °C at"
        " 10:05."
    ) in page.text
    assert "Pause and assess: rash, itch or flushing, new." in page.text
    assert "CDC NHSN Hemovigilance Module" in page.text


def test_what_the_last_set_asks_stands_at_the_head_until_a_set_asks_nothing(
    hospital: Hospital,
) -> None:
    in_phase(hospital, "running")
    hospital.clock.now = at(50)
    nurse = hospital.visit(NURSE)
    heads = [_head(nurse)]
    for minute, degrees in ((30, 38.4), (40, 36.9)):
        hospital.charting.observe(minute, observed=replace(WHOLE, temperature_c=degrees))
        heads.append(_head(nurse))

    asks = (
        "!! Pause and assess: the set of 10:30 temperature 38.4 °C (38.0 °C or more),"
        " 36.8 °C at 10:05."
    )
    assert [asks in head for head in heads] == [False, True, False]
    assert ["Pause and assess" in head for head in heads] == [False, True, False]


def _head(nurse: Visit) -> str:
    """What stands above how the unit stands."""
    return Page(nurse.see("/episodes/e1").html.partition('id="standing"')[0]).text


def test_prompts_in_fahrenheit(hospital: Hospital) -> None:
    in_fahrenheit(hospital)
    in_phase(hospital, "running")

    page = saved(hospital.visit(NURSE), temperature_c="100.6")

    assert (
        "Pause and assess: temperature 100.6 °F (100.4 °F or more), 98.2 °F at 10:05." in page.text
    )


def test_while_a_reaction_is_open_the_way_to_suspect_one_is_not_offered_twice(
    hospital: Hospital,
) -> None:
    in_phase(hospital, "reaction")

    page = saved(hospital.visit(NURSE), temperature_c="38.4")

    assert 'id="prompted"' in page.html
    assert "Suspect a reaction" not in page.text


def test_without_a_birth_date_it_says_that_this_is_why_there_is_no_score(
    hospital: Hospital,
) -> None:
    with hospital.store.write() as session:
        register(session, replace(P1, birth_date=None), minute=-5)
    in_phase(hospital, "running")

    text = hospital.visit(NURSE).see("/episodes/e1").text

    why = "The birth date is not recorded, and the score is for patients of 16 and over."
    assert f"NEWS2 not calculated {why}" in text


def test_a_childs_signs_against_references(hospital: Hospital) -> None:
    as_child(hospital)
    in_phase(hospital, "running")
    hospital.charting.observe(28, observed=replace(FULL, systolic_mmhg=80, diastolic_mmhg=40))

    text = hospital.visit(NURSE).see("/episodes/e1").text

    assert "NEWS2 not calculated Under 16: use the paediatric chart." in text
    assert (
        "Pulse 78, between the 10th and the 90th centile at this age (1st 61, median 94, 99th 126)"
        in text
    )
    assert "Systolic 80, below the lowest acceptable of 82 mmHg at this age" in text


def test_a_child_with_one_sign_and_a_sound_pressure(hospital: Hospital) -> None:
    as_child(hospital)
    in_phase(hospital, "running")
    hospital.charting.observe(28, observed=Observed(systolic_mmhg=82))

    text = hospital.visit(NURSE).see("/episodes/e1").text

    assert "Systolic 82, not below the lowest acceptable of 82 mmHg at this age" in text


def test_without_any_set_there_is_no_section(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    assert 'id="observations"' not in hospital.visit(NURSE).see("/episodes/e1").html
