"""The form of vital signs: what it says, and what is asked about once before it is stored."""

from dataclasses import replace

from server.domain.words import Consciousness
from tests.domain.builders import FULL
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.sets import TYPED, as_child, asked, in_fahrenheit, saved, sets
from tests.services.people import NURSE


def test_an_implausible_value_is_asked_about_and_nothing_is_lost(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = asked(hospital, pulse_per_min="140")

    assert page.errors == {
        "first-observed-pulse_per_min": (
            "pulse 140 per min is unusually high, 78 per min before. Is it so?"
        )
    }
    form = page.form("first-observed")
    assert {name: form.values[name] for name in TYPED} == {
        name: [value] for name, value in (TYPED | {"pulse_per_min": "140"}).items()
    }
    assert 'name="confirmed" value="pulse_per_min=140"' in page.html
    assert "Nothing is recorded so far; what you typed is kept." in page.text
    assert len(sets(hospital)) == 1


def test_it_is_so_records_it(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)
    answer = nurse.send("/episodes/e1", "first-observed", **(TYPED | {"pulse_per_min": "140"}))
    form = Page(answer.text).form("first-observed")

    again = nurse.post(form.action, form.values | {"confirmed": ["pulse_per_min=140"]})

    assert again.status_code == 303
    assert sets(hospital)[-1] == replace(FULL, pulse_per_min=140)


def test_a_confirmation_is_about_its_own_values(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)
    answer = nurse.send("/episodes/e1", "first-observed", **(TYPED | {"pulse_per_min": "140"}))
    form = Page(answer.text).form("first-observed")
    other = form.values | {"pulse_per_min": ["150"], "confirmed": ["pulse_per_min=140"]}

    again = nurse.post(form.action, other)

    assert again.status_code == 422
    assert 'value="pulse_per_min=150"' in again.text


def test_every_doubt_is_asked_at_once(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = asked(hospital, temperature_c="40.2", systolic_mmhg="88", diastolic_mmhg="40")

    assert list(page.errors.values()) == [
        "temperature 40.2 °C is unusually high, 36.8 °C before. Is it so?",
        "systolic 88 mmHg is unusually low, 124 mmHg before. Is it so?",
        "diastolic 40 mmHg is unusually low, 76 mmHg before. Is it so?",
    ]
    assert "temperature_c=40.2 systolic_mmhg=88 diastolic_mmhg=40" in page.html


def test_a_first_value_has_nothing_before_it(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    assert asked(hospital, spo2_percent="88").errors == {
        "first-observed-spo2_percent": "SpO₂ 88 % is unusually low. Is it so?"
    }


def test_what_was_unusual_in_the_set_before_is_not_asked_again(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    hospital.charting.observe(20, observed=replace(FULL, pulse_per_min=140))

    saved(hospital.visit(NURSE), **(TYPED | {"pulse_per_min": "138"}))

    assert sets(hospital)[-1].pulse_per_min == 138


def test_a_child_is_asked_about_by_its_age(hospital: Hospital) -> None:
    as_child(hospital)
    in_phase(hospital, "running")

    page = asked(hospital, pulse_per_min="128", respirations_per_min="20", systolic_mmhg="95")

    assert list(page.errors) == ["first-observed-pulse_per_min"]


def test_in_fahrenheit_the_question_is_in_fahrenheit(hospital: Hospital) -> None:
    in_fahrenheit(hospital)
    in_phase(hospital, "running")

    assert asked(hospital, temperature_c="104.4").errors == {
        "first-observed-temperature_c": (
            "temperature 104.4 °F is unusually high, 98.2 °F before. Is it so?"
        )
    }


def test_a_typed_98_6_in_a_celsius_field_is_caught(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    assert asked(hospital, temperature_c="98.6").errors == {
        "first-observed-temperature_c": (
            "98.6 is impossible; expected 25 to 45. Fahrenheit? 98.6 °F is 37.0 °C"
        )
    }


def test_in_a_fahrenheit_field_a_point_that_was_left_out_is_seen(hospital: Hospital) -> None:
    in_fahrenheit(hospital)
    in_phase(hospital, "running")

    assert asked(hospital, temperature_c="986").errors == {
        "first-observed-temperature_c": "986 °F is impossible; expected 77 to 113. 98.6?"
    }


def test_the_form_says_unit_value_before_and_what_a_full_set_needs(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    page = hospital.visit(NURSE).see("/episodes/e1")

    assert "Temperature * (needed for a full set) °C 36.8 at 10:05" in page.text
    assert "SpO₂ %" in page.text
    assert page.form("first-observed").options["on_oxygen"] == ["false", "true", ""]
    assert page.form("first-observed").options["consciousness"] == [
        *(level.value for level in Consciousness),
        "",
    ]


def test_symptoms_are_folded_until_one_is_ticked(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)

    first = nurse.see("/episodes/e1")
    refused = nurse.send("/episodes/e1", "first-observed", temperature_c="99", symptoms=["rash"])

    assert "fold-first-observed-symptoms" not in first.opened_details
    assert "fold-first-observed-symptoms" in Page(refused.text).opened_details
