"""Units of a patient with whom a reaction is suspected elsewhere, and units that are warned of."""

from datetime import datetime

import pytest

from server.domain.errors import Refused
from server.domain.gate import gaps_before_start, require_start
from server.domain.payloads import (
    Completed,
    Issued,
    Payload,
    ReactionSuspected,
    Started,
    Warned,
    WarningChecked,
)
from server.domain.picture import Case
from server.domain.reaction import Elsewhere
from server.domain.words import Component, Level
from tests.domain.builders import (
    CHECKED,
    FULL,
    SOUND,
    Fact,
    around,
    at,
    case,
    facts_from,
    look,
    running,
)

OPEN = Elsewhere("episode-2", "4", Component.RED_CELLS, "G099926123456", at(20))
CLOSED = Elsewhere("episode-3", "4", Component.PLATELETS, None, at(-60), at(-5))
THERE = "bed 4, red cells G099926123456"
HELD = f"Held: suspected reaction since 10:20 in {THERE}."
WARNED = (15, Warned("episode-9", "7", "G099926654321"))
PHONE = (
    "Phone the laboratory at once: identity error in bed 7, unit G099926654321, found 10:15. "
    "Check this unit and patient."
)
SHORT = "Phone the laboratory at once: identity error in bed 7."


def reason(given: Case, now: datetime) -> str:
    return look(given, now).urgency.reason


def codes(given: Case, now: datetime) -> list[tuple[str, str]]:
    wanted = ("held", "linked_warning")
    return [(one.code, one.detail) for one in look(given, now).advices if one.code in wanted]


@pytest.mark.parametrize(
    ("facts", "level", "rest"),
    [
        ((), Level.WAITING, "Requested, not yet ready."),
        (((15, Issued()),), Level.STEADY, "Issued 10:15, not started."),
    ],
)
def test_a_unit_that_is_not_started_is_held(
    facts: tuple[Fact, ...], level: Level, rest: str
) -> None:
    looked = look(case(*facts, elsewhere=(OPEN,)), at(25))

    assert (looked.urgency.level, looked.urgency.reason) == (level, f"{HELD} {rest}")


def test_a_unit_that_runs_says_to_pause_and_assess() -> None:
    given = running(elsewhere=(OPEN,))

    assert reason(given, at(21)).startswith(
        f"Pause and assess: suspected reaction since 10:20 in {THERE}. "
    )


@pytest.mark.parametrize(
    "facts", [((30, Completed()),), ((22, ReactionSuspected()),)], ids=["ended", "has its own"]
)
def test_a_unit_that_has_ended_or_has_a_reaction_of_its_own_is_not_held(
    facts: tuple[Fact, ...],
) -> None:
    assert THERE not in reason(running(*facts, elsewhere=(OPEN,)), at(31))


@pytest.mark.parametrize(
    ("boundary", "expected"), [(at(20), [False, True, True]), (at(60), [True, False, False])]
)
def test_it_is_held_from_the_suspicion_to_the_closing(
    boundary: datetime, expected: list[bool]
) -> None:
    one = Elsewhere("e2", "4", Component.RED_CELLS, None, at(20), at(60))
    given = case((15, Issued()), elsewhere=(one,))

    found = [reason(given, now).startswith("Held: ") for now in around(boundary)]
    assert found == expected


def test_of_several_the_earliest_that_is_open_is_named() -> None:
    later = Elsewhere("episode-4", "9", Component.PLASMA, None, at(22))
    given = case((15, Issued()), elsewhere=(CLOSED, later, OPEN))

    assert reason(given, at(25)).startswith(HELD)


def test_as_of_an_instant_a_later_closing_is_not_known() -> None:
    one = Elsewhere("e2", "4", Component.RED_CELLS, None, at(20), at(60))
    given = case((15, Issued()), elsewhere=(one, OPEN))

    assert [found.closed_at for found in given.known(at=at(40)).elsewhere] == [None, None]
    assert given.known(at=at(19)).elsewhere == ()
    assert given.known(at=at(60)).elsewhere == (one, OPEN)
    assert given.known().elsewhere == (one, OPEN)


@pytest.mark.parametrize(
    ("reactions", "expected"),
    [
        ((OPEN,), f"a reaction is suspected with another unit of this patient ({THERE})"),
        ((CLOSED,), None),
        ((), None),
    ],
)
def test_the_start_is_refused_while_it_is_held(
    reactions: tuple[Elsewhere, ...], expected: str | None
) -> None:
    ready: tuple[tuple[int, Payload], ...] = ((16, SOUND), (17, CHECKED), (18, FULL))
    started = Started(60)
    given = case((15, Issued()), *ready, (25, started), elsewhere=reactions)

    if expected is None:
        require_start(facts_from(given), started)
        return
    with pytest.raises(Refused) as refused:
        require_start(facts_from(given), started)
    assert expected in refused.value.reason
    require_start(facts_from(given), Started(60, override_reason="bleeding; Dr Ash decided"))


def test_what_holds_it_is_told_first_before_the_start() -> None:
    given = case((15, Issued()), elsewhere=(OPEN,))
    facts = facts_from(given)

    first = gaps_before_start(facts, at(25))[0]
    assert (first.step, first.detail.endswith(f"({THERE})")) == ("held", True)
    assert "held" not in {gap.step for gap in gaps_before_start(facts, at(19))}


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (case((15, Issued()), elsewhere=(OPEN,)), [("held", HELD)]),
        (running(WARNED), [("linked_warning", PHONE)]),
        (running((15, Completed()), elsewhere=(OPEN,)), []),
        (running(), []),
    ],
)
def test_the_page_and_programs_are_told_as_advices(
    given: Case, expected: list[tuple[str, str]]
) -> None:
    assert codes(given, at(25)) == expected


def test_a_warned_unit_says_to_phone_the_laboratory_whatever_else_it_owes() -> None:
    given = running(WARNED)
    looked = look(given, at(16))

    assert looked.urgency.reason.startswith(f"{SHORT} ")
    assert looked.urgency.level is look(running(), at(16)).urgency.level


def test_both_are_said_the_warning_first() -> None:
    assert reason(case((10, Issued()), WARNED, elsewhere=(OPEN,)), at(25)).startswith(
        f"{SHORT} {HELD} "
    )


def test_a_warning_without_a_unit_number_names_the_bed() -> None:
    given = running((15, Warned("e9", "7")))

    assert "in bed 7 found 10:15. Check" in codes(given, at(16))[0][1]


def test_a_row_names_each_bed_of_several_warnings_once() -> None:
    given = running(WARNED, (16, Warned("e8", "4")), (17, Warned("e9", "7")))

    assert reason(given, at(18)).startswith(
        "Phone the laboratory at once: identity error in bed 7, bed 4. "
    )


def test_a_checked_warning_is_silent() -> None:
    given = running(WARNED, (17, WarningChecked("right unit, right patient")))

    assert SHORT in reason(given, at(16))
    assert SHORT not in reason(given, at(17))
