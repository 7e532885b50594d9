"""The baseline of a unit, and what each set of its patient says."""

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from server.domain.assessment import Assessment, assess
from server.domain.baseline import NOTHING_BEFORE, Baseline, Before, baseline_of
from server.domain.events import Event
from server.domain.fold import fold
from server.domain.news2 import News2, NotCalculated
from server.domain.payloads import Issued, Observed, Started
from server.domain.picture import Case
from server.domain.words import Consciousness
from tests.domain.builders import COMMON, FULL, PARTIAL, PATIENT, Fact, at, case

BEFORE: tuple[Fact, ...] = ((0, Issued()), (10, Started(60)))


def started(*facts: Fact | Event) -> Case:
    return case((0, Issued()), (10, Started(60)), *facts)


def baseline(*facts: Fact | Event) -> Baseline:
    made = started(*facts)
    return baseline_of(fold(made.request, made.events), COMMON)


def time_of(found: Baseline) -> datetime | None:
    return None if found.event is None else found.event.happened_at


@pytest.mark.parametrize(
    ("minutes", "chosen"),
    [
        ((-200,), -200),
        ((-60, -51, 5), 5),
        ((5, 10), 10),
        ((5, 11), 5),
        ((11,), None),
        ((), None),
    ],
)
def test_the_baseline_is_the_last_full_set_before_the_start(
    minutes: tuple[int, ...], chosen: int | None
) -> None:
    """The set that meets the baseline check, else the last one before its window opens."""
    found = baseline(*((minute, FULL) for minute in minutes))

    assert time_of(found) == (None if chosen is None else at(chosen))


def test_a_partial_set_is_no_baseline_but_lends_what_the_full_one_lacks() -> None:
    found = baseline((2, Observed(spo2_percent=97, pulse_per_min=99)), (5, FULL))

    assert time_of(found) == at(5)
    assert (found.signs["spo2_percent"], found.signs["pulse_per_min"]) == (
        Before(97, at(2)),
        Before(78, at(5)),
    )
    assert "on_oxygen" not in found.signs


def test_a_later_partial_set_does_not_replace_the_signs_of_the_full_one() -> None:
    found = baseline((5, FULL), (8, Observed(pulse_per_min=99, on_oxygen=True)))

    assert (found.value("pulse_per_min"), found.value("on_oxygen")) == (78, True)
    assert found.value("spo2_percent") is None


def test_symptoms_count_from_the_baseline_on() -> None:
    found = baseline(
        (-30, replace(PARTIAL, symptoms=("rash",))),
        (5, replace(FULL, symptoms=("nausea",))),
        (8, Observed(symptoms=("pain",))),
    )

    assert found.symptoms == {"nausea", "pain"}
    assert baseline((2, replace(PARTIAL, symptoms=("rash",)))).symptoms == {"rash"}


def test_before_the_start_there_is_no_baseline() -> None:
    made = case((0, Issued()), (5, FULL))

    assert baseline_of(fold(made.request, made.events), COMMON) == NOTHING_BEFORE


def assessed(made: Case) -> tuple[Assessment, ...]:
    episode = fold(made.request, made.events)
    return assess(made, episode, episode.observations)


def test_sets_before_the_start_and_the_baseline_itself_raise_no_prompt() -> None:
    hot = replace(FULL, temperature_c=39.0)
    found = assessed(started((5, hot), (10, hot), (25, hot)))

    assert [[prompt.code for prompt in one.prompts] for one in found] == [
        [],
        [],
        ["temperature_high"],
    ]


def test_each_set_has_its_score_or_the_reason_for_none() -> None:
    whole = replace(FULL, spo2_percent=97, on_oxygen=False, consciousness=Consciousness.ALERT)
    incomplete, scored = assessed(started((5, FULL), (25, whole)))

    assert isinstance(incomplete.news2, NotCalculated)
    assert incomplete.news2.reason.startswith("incomplete set: SpO2")
    assert isinstance(scored.news2, News2)
    assert (scored.news2.score, scored.child) == (0, None)


def test_an_age_is_that_of_the_day_on_the_ward() -> None:
    """In Auckland it is the birthday already when it is not yet in Greenwich."""
    born = datetime(2010, 3, 4, tzinfo=UTC).date()
    child = replace(PATIENT, birth_date=born)
    when = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)

    def reasons(zone: ZoneInfo) -> list[bool]:
        made = case((when, FULL), patient=child, zone=zone)
        return [one.child is None for one in assessed(made)]

    assert (reasons(ZoneInfo("Pacific/Auckland")), reasons(ZoneInfo("Europe/London"))) == (
        [True],
        [False],
    )
