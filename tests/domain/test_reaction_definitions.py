"""The strongest answer of a whole record to each definition."""

from dataclasses import replace
from datetime import date

from server.domain.definition import Verdict
from server.domain.fold import fold
from server.domain.payloads import Completed, ReactionSuspected
from server.domain.picture import Case
from server.domain.reaction_definitions import charted_in, classify
from tests.domain.builders import FULL, PATIENT, at, case
from tests.domain.builders import running as started

MET, OPEN, NOT = Verdict.MET, Verdict.CANNOT_SAY, Verdict.NOT_MET


def classified(record: Case) -> dict[str, tuple[Verdict, str, object]]:
    episode = fold(record.request, record.events)
    return {
        one.definition.key: (one.finding.verdict, one.finding.grade, one.at)
        for one in classify(charted_in(record, episode))
    }


def test_the_strongest_answer_of_a_record_stands() -> None:
    hot = replace(FULL, temperature_c=39.4)
    record = started(
        (5, FULL),
        (25, replace(FULL, temperature_c=38.0)),
        (40, hot),
        (50, hot),
        (60, ReactionSuspected(("rigors", "rash"))),
        (70, Completed()),
        (240, replace(FULL, temperature_c=38.1, symptoms=("itch",))),
    )

    found = classified(record)

    assert found["cdc_febrile"] == (MET, "", at(25))
    assert found["uk_febrile"] == (MET, "moderate", at(40))
    assert found["nl_febrile"] == (MET, "non-haemolytic febrile", at(40))
    assert found["cdc_allergic"] == (MET, "probable", at(240))
    assert found["cdc_hypotensive"] == (NOT, "", at(25))
    assert found["cdc_haemolytic"] == (OPEN, "", at(25))


def test_hours_count_from_the_end_and_are_none_before_it() -> None:
    record = started((5, FULL), (25, FULL), (60, Completed()), (90, FULL))
    episode = fold(record.request, record.events)

    assert [(when, one.hours_after_end) for when, one in charted_in(record, episode)] == [
        (at(25), 0.0),
        (at(90), 0.5),
    ]


def test_what_was_there_before_is_no_sign_of_a_reaction() -> None:
    record = started(
        (5, replace(FULL, symptoms=("rash",))), (25, replace(FULL, symptoms=("rash",)))
    )

    assert classified(record)["uk_allergic"] == (NOT, "", at(25))


def test_ages_and_weights_are_those_of_the_patient() -> None:
    child = replace(PATIENT, birth_date=date(2020, 1, 1), weight_kg=18)
    record = started((5, FULL), (25, FULL), patient=child)
    ((_, one),) = charted_in(record, fold(record.request, record.events))

    assert (one.age_years, one.weight_kg) == (6, 18)


def test_an_unstarted_unit_has_nothing_to_classify() -> None:
    found = classified(case((0, FULL)))

    assert set(found.values()) == {(OPEN, "", None)}
