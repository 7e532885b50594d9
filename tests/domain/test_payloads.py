"""What a payload refuses: the impossible, with the field and what was expected."""

from collections.abc import Callable
from dataclasses import fields
from functools import partial
from math import inf, nan

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import (
    PAYLOADS,
    Acknowledged,
    Assigned,
    Cancelled,
    CauseGiven,
    CheckedItem,
    Completed,
    Discarded,
    Flushed,
    IdentityChecked,
    Inspected,
    Issued,
    Note,
    Observed,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Resumed,
    Returned,
    Started,
    Stopped,
    Voided,
    VolumeRead,
    Warned,
    WarningChecked,
)
from server.domain.words import ClockName, Consciousness, Kind, Recheck

ITEMS = (CheckedItem("name", matched=True),)
FIRST = ClockName.FIRST_CHECK

NUMBERS: list[tuple[str, Callable[[float], object], float, float]] = [
    ("volume_ml", lambda value: Issued(volume_ml=value), 1, 10_000),
    ("volume_ml", Flushed, 0, 1_000),
    ("rate_ml_h", Started, 0, 10_000),
    ("rate_ml_h", RateSet, 0, 10_000),
    ("rate_ml_h", Resumed, 0, 10_000),
    ("given_ml", VolumeRead, 0, 10_000),
    ("given_ml", lambda value: Stopped("fever", given_ml=value), 0, 10_000),
    ("given_ml", Completed, 0, 10_000),
    ("temperature_c", lambda value: Observed(temperature_c=value), 25, 45),
    ("pulse_per_min", lambda value: Observed(pulse_per_min=value), 0, 350),
    ("respirations_per_min", lambda value: Observed(respirations_per_min=value), 0, 120),
    ("systolic_mmhg", lambda value: Observed(systolic_mmhg=value), 0, 350),
    ("diastolic_mmhg", lambda value: Observed(diastolic_mmhg=value), 0, 250),
    ("spo2_percent", lambda value: Observed(spo2_percent=value), 0, 100),
]

TEXTS: list[tuple[str, Callable[[str], object], int]] = [
    ("unit_number", lambda text: Issued(unit_number=text), 200),
    ("product_code", lambda text: Issued(product_code=text), 200),
    ("first_by", lambda text: IdentityChecked(text, ITEMS), 200),
    ("second_by", lambda text: IdentityChecked("nurse-1", ITEMS, text), 200),
    ("item", lambda text: CheckedItem(text, matched=True), 200),
    ("site", lambda text: Started(60, site=text), 200),
    ("override_reason", lambda text: Started(60, override_reason=text), 4_000),
    ("reason", Paused, 4_000),
    ("reason", Stopped, 4_000),
    ("reason", Returned, 4_000),
    ("reason", Discarded, 4_000),
    ("reason", Cancelled, 4_000),
    ("step", ReactionStep, 200),
    ("decided_by", lambda text: Resumed(decided_by=text), 200),
    ("bed", lambda text: Warned("e9", text), 200),
    ("episode_id", lambda text: Warned(text, "7"), 200),
    ("unit_number", partial(Warned, "e9", "7"), 200),
    ("text", WarningChecked, 4000),
    ("outcome", ReactionClosed, 4_000),
    ("classification", lambda text: ReactionClosed("none", text), 200),
    ("nurse_id", Assigned, 200),
    ("staff_id", lambda text: Acknowledged(FIRST, text), 200),
    ("text", Note, 4_000),
    ("cause", lambda text: CauseGiven(FIRST, text), 200),
    ("text", lambda text: CauseGiven(FIRST, "busy", text), 4_000),
    ("event_id", lambda text: Voided(text, "slip"), 200),
    ("reason", lambda text: Voided("e1", text), 4_000),
]


def said(make: Callable[[], object]) -> tuple[str, str]:
    with pytest.raises(Invalid) as invalid:
        make()
    assert str(invalid.value) == f"{invalid.value.field}: {invalid.value.message}"
    return invalid.value.field, invalid.value.message


@pytest.mark.parametrize(("field", "make", "low", "high"), NUMBERS)
def test_a_number_may_be_at_either_bound_and_no_further(
    field: str, make: Callable[[float], object], low: float, high: float
) -> None:
    for value in (low, high):
        assert getattr(make(value), field) == value
    for value in (low - 0.5, high + 0.5, inf, -inf, nan):
        assert said(partial(make, value)) == (
            field,
            f"{value:g} is impossible; expected {low:g} to {high:g}",
        )


@pytest.mark.parametrize(("field", "make", "longest"), TEXTS)
def test_a_text_is_neither_empty_nor_endless(
    field: str, make: Callable[[str], object], longest: int
) -> None:
    assert getattr(make("x" * longest), field) == "x" * longest
    assert said(lambda: make(" \n")) == (field, "is empty; expected a text")
    assert said(lambda: make("x" * (longest + 1))) == (
        field,
        f"is {longest + 1} characters long; expected at most {longest}",
    )


@pytest.mark.parametrize("kind", Kind)
def test_a_payload_never_changes(kind: Kind) -> None:
    """Frozen, and without a place for anything that the interface does not name."""
    payload = PAYLOADS[kind]

    assert payload.__dataclass_params__.frozen  # type: ignore[union-attr]
    assert set(payload.__slots__) == {field.name for field in fields(payload)}


def test_the_second_checker_is_another_person() -> None:
    assert said(lambda: IdentityChecked("nurse-1", ITEMS, "nurse-1")) == (
        "second_by",
        "is the first checker; expected another person",
    )


def test_an_identity_check_reads_at_least_one_item() -> None:
    assert said(lambda: IdentityChecked("nurse-1", ())) == (
        "items",
        "is empty; expected at least one item that was read",
    )


def test_a_set_of_observations_holds_at_least_one_sign_or_symptom() -> None:
    assert said(Observed) == ("temperature_c", "no sign was given; expected at least one")
    assert Observed(symptoms=("rash",)).symptoms == ("rash",)
    assert Observed(on_oxygen=False).on_oxygen is False
    assert Observed(consciousness=Consciousness.ALERT).consciousness == "alert"


@pytest.mark.parametrize(
    "make", [lambda many: Observed(symptoms=many), ReactionSuspected], ids=["observed", "suspected"]
)
def test_symptoms_are_neither_many_nor_long(make: Callable[[tuple[str, ...]], object]) -> None:
    assert make(("x" * 200,) * 50) is not None
    assert said(lambda: make(("x",) * 51)) == ("symptoms", "has 51 items; expected at most 50")
    assert said(lambda: make(("fever", " "))) == ("symptoms", "is empty; expected a text")
    assert said(lambda: make(("x" * 201,))) == (
        "symptoms",
        "is 201 characters long; expected at most 200",
    )


def test_what_was_found_belongs_to_the_step_that_looked() -> None:
    found = ReactionStep("recheck_identity", Recheck.WRONG)

    assert found.result == "wrong_unit_or_patient"
    assert said(lambda: ReactionStep("stop", Recheck.AGREES)) == (
        "result",
        "belongs to the step recheck_identity; expected none",
    )


def test_an_inspection_names_what_was_found() -> None:
    assert Inspected().findings == ()
    assert Inspected(leak=True, clots=True, discoloured=True, damaged=True).findings == (
        "leak",
        "clots",
        "discoloured",
        "damaged",
    )


@pytest.mark.parametrize(
    ("check", "passed"),
    [
        (IdentityChecked("nurse-1", ITEMS), True),
        (IdentityChecked("nurse-1", ITEMS, interrupted=True), False),
        (IdentityChecked("nurse-1", (*ITEMS, CheckedItem("group", matched=False))), False),
    ],
)
def test_an_identity_check_passes_when_all_agreed_without_interruption(
    check: IdentityChecked, *, passed: bool
) -> None:
    assert check.passed is passed
