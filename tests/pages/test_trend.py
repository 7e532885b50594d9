"""The trend of the signs of a unit, drawn and tabled; the classification for the manager."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.payloads import (
    Completed,
    Observed,
    Paused,
    RateSet,
    ReactionSuspected,
    Resumed,
    Stopped,
)
from tests.domain.builders import FULL
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.sets import WHOLE, in_fahrenheit
from tests.services.people import CHARGE, COLLEAGUE, MANAGER, NURSE


def drawn(hospital: Hospital) -> Page:
    in_phase(hospital, "running")
    charting = hospital.charting
    charting.record(15, RateSet(90))
    charting.record(16, Paused())
    charting.record(18, Resumed())
    charting.observe(25, observed=replace(WHOLE, temperature_c=37.4, pulse_per_min=92))
    charting.observe(27, observed=Observed(pulse_per_min=95, symptoms=("rash",)))
    charting.record(28, ReactionSuspected(("rash",)))
    charting.record(29, Stopped("suspected reaction"))
    return hospital.visit(NURSE).see("/episodes/e1")


def test_each_sign_is_drawn_with_a_name_and_a_description(hospital: Hospital) -> None:
    page = drawn(hospital)

    assert page.html.count('<svg viewBox="0 0 320 132" role="img"') == 5
    for key, title in (
        ("temperature", "Temperature, °C, from 10:05 to 10:29"),
        ("pulse", "Pulse, per min, from 10:05 to 10:29"),
        ("pressure", "Blood pressure, mmHg, from 10:05 to 10:29"),
    ):
        assert f'<title id="trend-{key}-title">{title}</title>' in page.html
    assert '<desc id="trend-pulse-desc">78 at 10:05; 92 at 10:25; 95 at 10:27.</desc>' in page.html
    assert '<desc id="trend-pressure-desc">124/76 at 10:05; 124/76 at 10:25.</desc>' in page.html


def test_what_happened_is_on_the_pictures_and_in_the_key(hospital: Hospital) -> None:
    page = drawn(hospital)

    for letter, words in (
        ("S", "10:10 Started: 60 mL/h"),
        ("R", "10:15 Rate set: 90 mL/h"),
        ("P", "10:16 Paused"),
        ("C", "10:18 Resumed"),
        ("!", "10:28 Reaction suspected: rash, itch or flushing"),
        ("X", "10:29 Stopped: suspected reaction"),
    ):
        assert f"{letter} {words}" in page.text


def test_the_same_as_a_table(hospital: Hospital) -> None:
    text = drawn(hospital).text

    assert "Time Temperature, °C Pulse, per min Respirations, per min Blood pressure, mmHg" in text
    assert "10:05 36.8 78 16 124/76 – – – – –" in text
    assert "10:25 37.4 92 16 124/76 97 air alert 1 –" in text
    assert "10:27 – 95 – – – – – – rash, itch or flushing" in text


def test_in_fahrenheit_the_trend_is_in_fahrenheit(hospital: Hospital) -> None:
    in_fahrenheit(hospital)
    in_phase(hospital, "running")

    page = hospital.visit(NURSE).see("/episodes/e1")

    assert '<desc id="trend-temperature-desc">98.2 at 10:05.</desc>' in page.html


def test_a_completed_unit_is_marked(hospital: Hospital) -> None:
    in_phase(hospital, "ended")

    assert "E 10:25 Completed" in hospital.visit(NURSE).see("/episodes/e1").text


def finished(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    charting = hospital.charting
    charting.observe(20, observed=replace(FULL, temperature_c=39.1, symptoms=("rash",)))
    charting.record(25, Completed())


def test_the_manager_reads_the_classification_afterwards(hospital: Hospital) -> None:
    finished(hospital)

    page = hospital.visit(MANAGER).see("/episodes/e1")

    assert (
        "Classification afterwards, by published definitions: febrile, allergic Retrospective."
    ) in page.text
    assert "BSH and SHOT, United Kingdom" in page.text
    assert "to 24 h after the end ✓ met: moderate 39.1 °C, rise 2.3 °C (10:20)" in page.text
    assert "cannot be said from what is charted" in page.text
    assert "classified" not in page.opened_details


@pytest.mark.parametrize("person", [NURSE, COLLEAGUE, CHARGE], ids=lambda one: one.id)
def test_nobody_at_the_bedside_sees_it(hospital: Hospital, person: Any) -> None:
    finished(hospital)

    assert "classified" not in hospital.visit(person).see("/episodes/e1").html


def test_while_the_unit_is_given_not_even_the_manager_sees_it(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.observe(28, observed=replace(FULL, temperature_c=39.1))

    assert "classified" not in hospital.visit(MANAGER).see("/episodes/e1").html


def test_without_a_sign_of_a_reaction_none_is_met(hospital: Hospital) -> None:
    in_phase(hospital, "ended")

    text = hospital.visit(MANAGER).see("/episodes/e1").text

    assert "Classification afterwards, by published definitions: none" in text


def test_of_instants_that_all_do_not_meet_it_the_first_is_an_example(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    for minute in (20, 22):
        hospital.charting.observe(minute)
    hospital.charting.record(25, Completed())

    text = hospital.visit(MANAGER).see("/episodes/e1").text

    assert "not met at none of 2 instants; the first: systolic 124 mmHg, above 80 (10:20)" in text
