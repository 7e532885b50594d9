"""Why checks, giving sets and the fate were late, and what would have kept them."""

from datetime import timedelta

from server.domain.facts import HungSet
from server.domain.payloads import (
    Completed,
    FateRecorded,
    Issued,
    ReactionClosed,
    ReactionSuspected,
    SetChanged,
    SetHung,
    Started,
)
from server.domain.why.explain import ask
from server.domain.why.link import Fact
from server.domain.words import ClockName, Component, Fate
from tests.domain.builders import FULL, PARTIAL, at, case, event, with_policy
from tests.domain.whys import NOW, NURSE, acts, reasons, said, why

START, FIRST, END = ClockName.START, ClockName.FIRST_CHECK, ClockName.END_CHECK
BASELINE, RUNNING = ClockName.BASELINE_CHECK, ClockName.RUNNING_CHECK


def test_a_partial_set_and_one_before_the_check_opened() -> None:
    given = case(
        (0, Issued()), (10, Started(60)), (18, FULL), (22, PARTIAL), (60, Completed()), **NURSE
    )
    found = why(given, FIRST)

    assert said(found) == [
        (
            "10:10",
            Fact.COUNTED,
            "Started at 10:10: the first check was due at 10:25, at the latest 10:30.",
        ),
        (
            "10:18",
            Fact.EARLY_SET,
            "A full set was taken at 10:18, 2 min too early: from 10:20 on it would have counted.",
        ),
        (
            "10:22",
            Fact.PARTIAL_SET,
            (
                "The set of 10:22 was partial: it lacked temperature, so that it did not "
                "meet the check."
            ),
        ),
        ("10:30", Fact.NOT_DONE, "No full set was taken by the limit 10:30."),
    ]
    assert acts(found) == [
        ("Full set of observations", "at 10:30 at the latest; it is not recorded"),
        ("Full set of observations", "the set of 10:22 with every sign"),
        ("Full set of observations", "2 min later, at 10:20 instead of 10:18"),
    ]


def test_a_baseline_too_long_before_the_start_or_just_after_it() -> None:
    early = case((0, Issued()), (-40, FULL), (28, Started(60)), **NURSE)
    after = case((0, Issued()), (10, Started(60)), (13, FULL), **NURSE)
    found = why(early, BASELINE)

    assert reasons(found) == [
        (
            Fact.EARLY_SET,
            "A full set was taken at 09:20, 8 min too early: from 09:28 on it would have counted.",
        )
    ]
    assert acts(found) == [
        ("Full set of observations", "at 10:28 at the latest; it is not recorded"),
        (
            "Start",
            "8 min earlier, at 10:20 instead of 10:28",
            "Everything after the start would have come earlier by as much.",
        ),
    ]
    assert acts(why(after, BASELINE)) == [
        ("Full set of observations", "at 10:10 at the latest; it is not recorded"),
        ("Full set of observations", "3 min earlier, at 10:10 instead of 10:13"),
    ]


def test_a_running_check_counts_from_the_set_before_or_from_the_first_checks_due_time() -> None:
    begun = ((0, Issued()), (10, Started(60)))
    after = case(*begun, (25, FULL), (120, FULL), **NURSE)
    none = case(*begun, (130, Completed()), **NURSE)

    assert said(why(after, RUNNING))[0] == (
        "10:25",
        Fact.COUNTED,
        "The set before was taken at 10:25: the next one was due at 11:25, at the latest 11:40.",
    )
    found = why(none, RUNNING)
    assert said(found) == [
        (
            "10:25",
            Fact.COUNTED,
            (
                "No set yet at 10:25, when the first check was due: the next was due at 11:25, "
                "at the latest 11:40."
            ),
        ),
        ("11:40", Fact.NOT_DONE, "No full set was taken by the limit 11:40."),
    ]
    assert acts(found) == [
        (
            "Full set of observations",
            "at 12:10 at the latest; it is not recorded",
            "No set met the first check: a set after this limit, too, would have moved it.",
            "It would have kept as well: End observations.",
        )
    ]
    assert not found.says_why


def test_while_it_runs_a_first_set_would_move_the_running_check_at_any_time() -> None:
    given = case((0, Issued()), (10, Started(60)), **NURSE)

    assert acts(why(given, RUNNING, now=at(150))) == [
        (
            "Full set of observations",
            "at any time until 12:30; it is not recorded",
            "No set met the first check: a set after this limit, too, would have moved it.",
        )
    ]


def test_a_reaction_of_the_unit_itself() -> None:
    closing = (22, ReactionClosed("none"))
    given = case(
        (0, Issued()), (10, Started(60)), (12, ReactionSuspected(("fever",))), closing, **NURSE
    )
    open_still = case(
        (0, Issued()), (10, Started(60)), (12, ReactionSuspected(("fever",))), **NURSE
    )
    over = case(
        (0, Issued()),
        (1, Started(60)),
        (2, ReactionSuspected()),
        (10, ReactionClosed("none")),
        **NURSE,
    )

    words = "A reaction was suspected with this unit from 10:12"
    assert reasons(why(given, FIRST)) == [(Fact.REACTION, f"{words} until 10:22.")]
    assert reasons(why(open_still, FIRST)) == [(Fact.REACTION, f"{words}.")]
    assert reasons(why(over, FIRST)) == []
    assert said(why(open_still, ClockName.REACTION_CHECK))[0] == (
        "10:12",
        Fact.COUNTED,
        "A reaction was suspected: a full set was due at 10:12, at the latest 10:17.",
    )


def test_an_early_set_of_a_reaction_check_is_of_another_check() -> None:
    given = case((0, Issued()), (10, Started(60)), (12, FULL), (15, ReactionSuspected()), **NURSE)

    assert Fact.EARLY_SET in dict(reasons(why(given, ClockName.REACTION_CHECK)))


def test_a_giving_set_that_hung_too_long() -> None:
    policy = with_policy(giving_set_life=timedelta(hours=2))
    facts = ((0, Issued()), (5, SetHung()), (10, Started(60)))
    late = case(*facts, (140, SetChanged()), policy=policy, **NURSE)
    never = case(*facts, (150, Completed()), policy=policy, **NURSE)
    running = case(*facts, policy=policy, **NURSE)

    assert acts(why(late, ClockName.SET_CHANGE)) == [
        ("Giving set change", "15 min earlier, at 12:05 instead of 12:20")
    ]
    assert acts(why(never, ClockName.SET_CHANGE)) == [
        ("Giving set change", "at 12:05 at the latest; it is not recorded"),
        (
            "End",
            "25 min earlier, at 12:05 instead of 12:30",
            "165 mL would then not have been given.",
        ),
    ]
    assert acts(why(running, ClockName.SET_CHANGE, now=at(130))) == [
        ("Giving set change", "at 12:05 at the latest; it is not recorded")
    ]


def test_a_set_that_comes_earlier_may_cost_the_next_check() -> None:
    """One set restarts the interval of the next: 13:00 would then have been past 12:55."""
    begun = ((0, Issued()), (5, FULL), (10, Started(60)), (25, FULL))
    given = case(*begun, (110, FULL), (180, FULL), **NURSE)
    halves = case(*begun[:3], event(4, at(25, 30), FULL), (110, FULL), (180, FULL), **NURSE)

    assert acts(why(given, RUNNING, now=at(200))) == [
        (
            "Full set of observations",
            "10 min earlier, at 11:40 instead of 11:50",
            "Running check 2 would then have been 5 min late.",
        )
    ]
    assert said(why(halves, RUNNING, now=at(200)))[-1][2] == (
        "A full set was taken at 11:50, 10 min past the limit 11:40."
    )
    assert acts(why(halves, RUNNING, now=at(200)))[0][1] == (
        "10 min earlier, at 11:40 instead of 11:50"
    )


def test_a_latest_instant_is_told_to_the_second_and_minutes_in_minutes() -> None:
    late = case((0, Issued()), (10, Started(60)), event(3, at(30, 1), FULL), **NURSE)
    never = case((0, Issued()), (at(10, 1), Started(60)), (60, Completed()), **NURSE)

    assert acts(why(late, FIRST)) == [
        ("Full set of observations", "1 min earlier, at 10:29 instead of 10:30")
    ]
    assert acts(why(never, FIRST)) == [
        ("Full set of observations", "at 10:30:01 at the latest; it is not recorded")
    ]


def test_a_limit_that_is_not_passed_yet_has_no_outcome() -> None:
    given = case((0, Issued()), (10, Started(60)), **NURSE)
    found = why(given, FIRST, now=at(20))

    assert (found.breach, [fact for _, fact, _ in said(found)]) == (None, [Fact.COUNTED])


def test_a_limit_that_nobody_can_be_late_at() -> None:
    given = case((0, Issued()), (10, Started(300)), (60, Completed()))

    assert ask(given, (ClockName.LATE_WATCH, 1), NOW) is None


def test_sets_that_have_nothing_to_do_with_the_check_are_not_told() -> None:
    """A second baseline, and a partial set after the limit."""
    before = ((0, Issued()), (2, FULL), (6, FULL), (10, Started(60)))
    given = case(*before, (45, PARTIAL), (60, Completed()), **NURSE)

    assert reasons(why(given, FIRST)) == []


def test_a_new_set_that_platelets_wanted_and_a_fate_that_came_late() -> None:
    line = (HungSet(at(-10), Component.RED_CELLS),)
    platelets = case(
        (0, Issued()), (10, Started(200)), line=line, component=Component.PLATELETS, **NURSE
    )
    fate = FateRecorded(Fate.TRANSFUSED)
    late = case((0, Issued()), (10, Started(300)), (60, Completed()), (310, fate), **NURSE)

    assert acts(why(platelets, ClockName.SET_CHANGE, now=at(60))) == [
        ("Giving set change", "at 10:10 at the latest; it is not recorded")
    ]
    assert acts(why(late, ClockName.FATE)) == [
        ("Fate of the bag", "10 min earlier, at 15:00 instead of 15:10")
    ]
    assert said(why(late, ClockName.FATE))[-1][2] == (
        "The fate was recorded at 15:10, 10 min past the limit 15:00."
    )
