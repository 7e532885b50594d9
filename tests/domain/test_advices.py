"""What is said beside the clocks."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from server.domain.advices import Advice
from server.domain.facts import HungSet
from server.domain.payloads import (
    CheckedItem,
    Completed,
    IdentityChecked,
    Issued,
    RateSet,
    SetHung,
    Started,
    VolumeRead,
)
from server.domain.picture import Case
from server.domain.words import Component
from tests.domain.builders import (
    FULL,
    PATIENT,
    POLICIES,
    around,
    at,
    case,
    look,
    running,
    with_policy,
)

WATCH = Advice(
    "late_watch", "Signs of a reaction can come late: watch until Wed 11:30.", "late_watch.hours"
)


def advices(given: Case, now: datetime) -> tuple[Advice, ...]:
    return look(given, now).advices


def test_nothing_is_said_of_a_unit_that_goes_as_it_should() -> None:
    assert advices(running((5, FULL), (25, FULL), rate=60), at(26)) == ()


def test_a_record_without_an_issue_says_what_is_not_owed() -> None:
    given = case((0, Started(60)), history=True)

    assert advices(given, at(30)) == (
        Advice(
            "no_issue_time",
            "No issue time was recorded: no start, return or removal-based limit is owed.",
            None,
        ),
    )


def test_a_start_against_a_refusal_stays_visible() -> None:
    given = case((0, Issued()), (10, Started(60, override_reason="massive bleeding")))

    assert advices(given, at(11)) == (
        Advice("start_overridden", "Started against a refusal: massive bleeding", None),
    )


@pytest.mark.parametrize(
    ("now", "said"), list(zip(around(at(30)), (False, False, True), strict=True))
)
def test_past_the_return_window_it_says_that_the_unit_may_not_go_back(
    now: datetime, *, said: bool
) -> None:
    text = (
        "Out of storage for 30 min: may no longer go back to stock. Local policy decides whether "
        "it may still be given; all of it would have to be in by 14:00."
    )
    expected = (Advice("return_window_passed", text, "return.minutes"),)

    assert advices(case((0, Issued())), now) == (expected if said else ())


ITEMS = (CheckedItem("name", matched=True), CheckedItem("unit_number", matched=False))
MISMATCH = (
    "The identity check of 10:05 did not agree (unit number): the unit is not started. Keep it"
)


@pytest.mark.parametrize(
    ("check", "code", "said"),
    [
        (IdentityChecked("a", ITEMS, "b"), "identity_mismatch", MISMATCH),
        (
            IdentityChecked("a", ITEMS[:1], interrupted=True),
            "identity_interrupted",
            "The identity check of 10:05 was interrupted: it starts again from the top.",
        ),
    ],
)
def test_a_check_that_found_something_is_told_until_another_passes(
    check: IdentityChecked, code: str, said: str
) -> None:
    (advice,) = advices(case((0, Issued()), (5, check)), at(6))
    passed = case((0, Issued()), (5, check), (7, IdentityChecked("a", ITEMS[:1], "b")))

    assert (advice.code, advice.detail.startswith(said), advice.rule) == (
        code,
        True,
        "start.requires",
    )
    assert advices(passed, at(8)) == ()


def test_without_a_finish_limit_the_return_window_is_told_without_it() -> None:
    given = case((0, Issued()), policy=POLICIES["au"])

    assert [advice.detail for advice in advices(given, at(95))] == [
        (
            "Out of storage for 1 h 35: may no longer go back to stock. "
            "Local policy decides whether it may still be given."
        )
    ]


def test_once_started_the_return_window_is_no_longer_a_question() -> None:
    assert advices(running((5, FULL)), at(50)) == ()


@pytest.mark.parametrize(
    ("taken", "detail"),
    list(
        zip(
            around(at(-5)),
            (
                ["Baseline observations were taken 16 min before the start."],
                [],
                [],
            ),
            strict=True,
        )
    ),
)
def test_a_baseline_taken_early_is_met_with_an_advice(taken: datetime, detail: list[str]) -> None:
    given = running((taken, FULL))

    assert [
        advice.detail for advice in advices(given, at(12)) if advice.code == "baseline_early"
    ] == detail


def test_a_set_hung_early_is_no_early_baseline() -> None:
    given = case(
        (-20, Issued()),
        (-15, SetHung()),
        (5, FULL),
        (10, Started(60)),
        component=Component.PLATELETS,
        line=(HungSet(at(-60), Component.RED_CELLS),),
    )

    assert advices(given, at(12)) == ()


@pytest.mark.parametrize(
    ("rate", "now", "said"),
    [
        (60, at(10), False),
        (60.5, at(10), True),
        *((90, now, said) for now, said in zip(around(at(25)), (True, False, False), strict=True)),
    ],
)
def test_a_fast_first_quarter_is_said_until_it_is_over(
    rate: float, now: datetime, *, said: bool
) -> None:
    given = running((5, FULL), rate=rate)
    expected = (
        Advice(
            "fast_first_minutes",
            f"{rate:g} mL/h is above 60 mL/h until 10:25.",
            "rate.first_max_ml_h",
        ),
    )

    assert advices(given, now) == (expected if said else ())


@pytest.mark.parametrize(("rate", "said"), [(300, False), (301, True)])
def test_a_rate_above_the_ceiling_is_said_with_where_the_ceiling_comes_from(
    rate: float, *, said: bool
) -> None:
    given = running((5, FULL), (26, RateSet(rate)))
    expected = (
        Advice(
            "above_ceiling", f"{rate:g} mL/h is above the ceiling of 300 mL/h.", "rate.max_ml_h"
        ),
    )

    assert advices(given, at(27)) == (expected if said else ())


def test_the_ceiling_of_the_order_is_named_as_the_order() -> None:
    given = running((5, FULL), (26, RateSet(120)), max_rate_ml_h=100)

    assert advices(given, at(27)) == (
        Advice("above_ceiling", "120 mL/h is above the ceiling of 100 mL/h.", "order"),
    )


def test_a_rest_that_cannot_finish_asks_for_a_stop_of_part_of_it() -> None:
    given = running((5, FULL), (25, FULL), (85, FULL), (145, FULL), (205, FULL))
    detail = (
        "The rest would need 310 mL/h and 300 is the ceiling: part of the unit has to be stopped."
    )

    assert advices(given, at(228)) == (Advice("cannot_finish", detail, "rate.max_ml_h"),)
    assert advices(given, at(226)) == ()


def test_an_unstarted_unit_that_cannot_finish_is_not_asked_to_be_stopped() -> None:
    policy = with_policy(return_within=timedelta(hours=8))

    assert advices(case((0, Issued()), policy=policy), at(200)) == ()


def test_an_unknown_volume_is_said_once_the_unit_is_issued() -> None:
    detail = "The volume of the unit was not recorded: no end can be projected."

    assert advices(case(volume_ml=None), at(0)) == ()
    assert advices(case((0, Issued()), volume_ml=None), at(0)) == (
        Advice("volume_unknown", detail, None),
    )


@pytest.mark.parametrize(
    ("read", "detail"),
    [
        (31, ["The last reading is 1 mL more than the rates give."]),
        (24.5, ["The last reading is 6 mL less than the rates give."]),
        (30.9, []),
        (29.1, []),
    ],
)
def test_a_reading_that_differs_by_a_millilitre_or_more_is_said(
    read: float, detail: list[str]
) -> None:
    given = running((5, FULL), (25, FULL), (40, VolumeRead(read)))

    assert [advice.detail for advice in advices(given, at(41))] == detail


@pytest.mark.parametrize(
    ("now", "advice"),
    [
        (at(90, -1), ()),
        (at(90), (WATCH,)),
        (at(90 + 1440), (replace(WATCH, detail=WATCH.detail.replace("Wed ", "")),)),
        (at(90 + 1440, 1), ()),
    ],
)
def test_late_signs_are_watched_for_until_the_watch_is_over(
    now: datetime, advice: tuple[Advice, ...]
) -> None:
    given = running((5, FULL), (25, FULL), (85, FULL), (90, Completed()))

    assert advices(given, now) == advice


def test_several_advices_stand_in_a_fixed_order() -> None:
    frail = replace(PATIENT, overload_risks=("heart failure",))
    given = running((-20, FULL), rate=120, patient=frail)

    assert [advice.code for advice in advices(given, at(15))] == [
        "baseline_early",
        "fast_first_minutes",
        "above_ceiling",
    ]
