"""What the local policy wants done before the start, and what it refuses."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.domain.errors import Refused
from server.domain.gate import require_start
from server.domain.payloads import CheckedItem, Inspected, Issued, Payload, Started
from server.domain.policy import Policy
from server.domain.words import Phase
from tests.domain.builders import (
    CHECKED,
    COMMON,
    FULL,
    PARTIAL,
    SOUND,
    Fact,
    around,
    at,
    case,
    facts_from,
    lacking,
    with_policy,
)

INTERRUPTED = replace(CHECKED, interrupted=True)
MISMATCHED = replace(
    CHECKED,
    items=(
        CheckedItem("name", matched=True),
        CheckedItem("date of birth", matched=False),
        CheckedItem("unit number", matched=False),
    ),
)
ALONE = replace(CHECKED, second_by=None)
LEAKING = Inspected(leak=True, damaged=True)
STRICT = with_policy(start_requires=frozenset({"inspected", "identity_checked", "baseline"}))
LENIENT = with_policy(start_requires=frozenset())
ONE_CHECKER = with_policy(identity_checkers=1)


def refusal(*facts: Fact, policy: Policy = COMMON, start: Started | None = None) -> str | None:
    """The reason for which a start at 20 min is refused, None if it is not."""
    started = start or Started(60)
    given = case((0, Issued()), *facts, (20, started), policy=policy)
    try:
        require_start(facts_from(given), started)
    except Refused as refused:
        return refused.reason
    return None


def test_a_refused_start_names_the_phase_it_met() -> None:
    with pytest.raises(Refused) as refused:
        require_start(facts_from(case((0, Issued()), (20, Started(60)))), Started(60))

    assert (refused.value.phase, refused.value.field) == (Phase.ISSUED, "kind")


def test_a_start_after_inspection_and_identity_check_by_two_is_let_through() -> None:
    assert refusal((5, SOUND), (6, CHECKED)) is None


@pytest.mark.parametrize(
    ("done", "reason"),
    [
        (
            [],
            (
                "The start is refused: the bag was not inspected; "
                "identity was not checked by two people at the bedside."
            ),
        ),
        ([CHECKED], "The start is refused: the bag was not inspected."),
        (
            [SOUND],
            "The start is refused: identity was not checked by two people at the bedside.",
        ),
        (
            [SOUND, ALONE],
            "The start is refused: identity was checked by one person and the policy asks for two.",
        ),
        (
            [SOUND, INTERRUPTED],
            (
                "The start is refused: the identity check was interrupted "
                "and starts again from the top."
            ),
        ),
        (
            [SOUND, MISMATCHED],
            (
                "The start is refused: the identity check found a mismatch "
                "(date of birth, unit number)."
            ),
        ),
        (
            [LEAKING, CHECKED],
            "The start is refused: the bag is not sound (leak, damaged).",
        ),
        (
            [LEAKING, SOUND, CHECKED],
            "The start is refused: the bag is not sound (leak, damaged).",
        ),
    ],
)
def test_a_start_that_lacks_something_is_refused_with_every_reason(
    done: list[Payload], reason: str
) -> None:
    assert refusal(*((5 + n, payload) for n, payload in enumerate(done))) == reason


def test_an_identity_check_repeated_from_the_top_replaces_the_interrupted_one() -> None:
    assert refusal((5, SOUND), (6, INTERRUPTED), (9, CHECKED)) is None


def test_an_interrupted_repetition_does_not_leave_the_earlier_check_standing() -> None:
    reason = "The start is refused: the identity check was interrupted and starts again from"

    assert refusal((5, SOUND), (6, CHECKED), (9, INTERRUPTED)) == f"{reason} the top."


def test_one_checker_is_enough_where_the_policy_asks_for_one() -> None:
    assert refusal((5, SOUND), (6, ALONE), policy=ONE_CHECKER) is None


def test_a_missing_check_is_worded_for_one_person_where_the_policy_asks_for_one() -> None:
    reason = "The start is refused: identity was not checked by one person at the bedside."

    assert refusal((5, SOUND), policy=ONE_CHECKER) == reason


def test_an_override_with_a_reason_opens_all_but_a_failed_identity_check() -> None:
    override = Started(60, override_reason="massive bleeding")

    assert refusal(start=override) is None
    assert refusal((5, LEAKING), start=override) is None
    assert refusal((5, MISMATCHED), start=override) == (
        "The start is refused: the identity check found a mismatch (date of birth, unit number)."
    )
    assert refusal((5, INTERRUPTED), start=override) == (
        "The start is refused: the identity check was interrupted and starts again from the top."
    )


def test_a_policy_that_requires_nothing_still_refuses_what_was_found_wrong() -> None:
    assert refusal(policy=LENIENT) is None
    assert refusal((5, LEAKING), policy=LENIENT) == (
        "The start is refused: the bag is not sound (leak, damaged)."
    )


@pytest.mark.parametrize(
    ("taken", "missing"),
    list(zip(around(at(20 - 60)), (True, False, False), strict=True))
    + list(zip(around(at(20)), (False, False, True), strict=True)),
)
def test_a_required_baseline_counts_inside_its_window_and_not_a_second_outside(
    taken: datetime, *, missing: bool
) -> None:
    reason = "The start is refused: baseline observations are missing."

    found = refusal((5, SOUND), (6, CHECKED), (taken, FULL), policy=STRICT)

    assert found == (reason if missing else None)


def test_a_partial_set_is_no_baseline() -> None:
    reason = "The start is refused: baseline observations are missing."

    assert refusal((5, SOUND), (6, CHECKED), (10, PARTIAL), policy=STRICT) == reason


@pytest.mark.parametrize(
    ("now", "missing"),
    list(zip(around(at(60)), ((), (), ("baseline observations are missing",)), strict=True)),
)
def test_a_baseline_grows_too_old_while_the_start_is_waited_for(
    now: datetime, missing: tuple[str, ...]
) -> None:
    given = case((-10, Issued()), (-5, SOUND), (-4, CHECKED), (0, FULL), policy=STRICT)

    assert lacking(given, now) == missing


def test_everything_still_to_be_done_is_listed_in_words() -> None:
    given = case((0, Issued()), (1, LEAKING), (2, replace(MISMATCHED, second_by=None)))

    assert lacking(given, at(5)) == (
        "the identity check found a mismatch (date of birth, unit number)",
        "identity was checked by one person and the policy asks for two",
        "the bag is not sound (leak, damaged)",
    )


def test_facts_without_the_start_cannot_be_asked_whether_it_is_allowed() -> None:
    with pytest.raises(ValueError, match=r"^the start itself is not among the facts$"):
        require_start(facts_from(case((0, Issued()))), Started(60))
