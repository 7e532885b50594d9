"""What a unit met on its way to its start: receipt, checks, reactions, the plan; late entries."""

from dataclasses import replace
from datetime import timedelta

from server.domain.payloads import (
    Assigned,
    Completed,
    Discarded,
    Issued,
    Received,
    Returned,
    Started,
)
from server.domain.plan.planned import Planned
from server.domain.reaction import Elsewhere
from server.domain.why.explain import ask, near
from server.domain.why.link import Fact
from server.domain.why.surroundings import Surroundings
from server.domain.words import ClockName, Component
from server.domain.workload.period import Period
from tests.domain.builders import CHECKED, FULL, SOUND, at, case, event, with_policy
from tests.domain.whys import NOW, NURSE, acts, reasons, said, vain, why

START, FIRST, END = ClockName.START, ClockName.FIRST_CHECK, ClockName.END_CHECK
BASELINE, RUNNING = ClockName.BASELINE_CHECK, ClockName.RUNNING_CHECK
INTERRUPTED = replace(CHECKED, interrupted=True)
LATE = case(
    (0, Issued()), (22, Received()), (25, INTERRUPTED), (28, CHECKED), (36, Started(60)), **NURSE
)


def test_a_late_receipt_and_an_interrupted_check_before_a_late_start() -> None:
    assert said(why(LATE, START)) == [
        ("10:00", Fact.COUNTED, "Issued at 10:00: to be started by 10:30."),
        (
            "10:00",
            Fact.RECEIVED_LATE,
            (
                "Received at 10:22: the way from the issue took 22 min of the 30 min to the start; "
                "10 min are reckoned for it."
            ),
        ),
        (
            "10:25",
            Fact.IDENTITY_AGAIN,
            "The identity check of 10:25 was interrupted: it begins again from the top.",
        ),
        ("10:36", Fact.DONE_LATE, "Started at 10:36, 6 min past the limit 10:30."),
    ]


def test_what_would_have_kept_a_late_start_and_what_could_not() -> None:
    found = why(LATE, START)

    assert acts(found) == [
        (
            "Start",
            "6 min earlier, at 10:30 instead of 10:36",
            "Everything after the start would have come earlier by as much.",
        ),
        (
            "Issue",
            "6 min later, at 10:06 instead of 10:00",
            "Moved with it, up to the start: receipt, identity check.",
        ),
    ]
    assert vain(found) == [
        ("Issue", "Issued earlier, its limit would have come earlier by as much.")
    ]


def test_steps_before_a_start_that_moves_before_them_are_taken_along() -> None:
    given = case((0, Issued()), (33, SOUND), (34, CHECKED), (35, FULL), (36, Started(60)), **NURSE)

    assert acts(why(given, START))[0] == (
        "Start",
        "6 min earlier, at 10:30 instead of 10:36",
        "Moved with it, up to the start: inspection, identity check, baseline set.",
        "Everything after the start would have come earlier by as much.",
    )


def test_a_check_that_did_not_agree_and_the_plan() -> None:
    mismatch = replace(CHECKED, items=(replace(CHECKED.items[0], matched=False),))
    given = case((0, Issued()), (25, mismatch), (36, Started(60)), **NURSE)
    late = Surroundings(planned=Planned(at(0), at(35), "nurse-1", None))
    kept = Surroundings(planned=Planned(at(0), at(20), "nurse-1", None))
    early = Surroundings(planned=Planned(at(0), at(20), "nurse-1", None))
    agreed = (
        Fact.IDENTITY_AGAIN,
        "The identity check of 10:25 did not agree: it begins again from the top.",
    )

    assert reasons(why(given, START, around=late)) == [
        agreed,
        (
            Fact.PLANNED_LATE,
            "The plan in force when it was issued had the start at 10:35, past its limit 10:30.",
        ),
    ]
    assert reasons(why(given, START, around=kept)) == [
        (
            Fact.LATER_THAN_PLANNED,
            (
                "The plan in force when it was issued had the start at 10:20; it was "
                "started at 10:36, "
                "16 min later."
            ),
        ),
        agreed,
    ]
    back = case((0, Issued()), (40, Returned()), **NURSE)
    assert reasons(why(back, START, around=early)) == []


def test_a_unit_that_was_not_in_by_its_limit_was_started_later_than_planned() -> None:
    given = case((0, Issued()), (29, Started(60)), (270, Completed()), **NURSE)
    planned = Surroundings(planned=Planned(at(0), at(20), "nurse-1", None, 5))

    assert (Fact.LATER_THAN_PLANNED, _PLANNED) in reasons(
        why(given, ClockName.FINISH, around=planned)
    )


_PLANNED = (
    "The plan in force when it was issued had the start at 10:20; it was started at 10:29, "
    "9 min later."
)


def test_a_reaction_with_another_unit_of_the_patient_held_it() -> None:
    def held(since: int, closed: int | None) -> Elsewhere:
        over = None if closed is None else at(closed)
        return Elsewhere("unit-2", "4", Component.PLATELETS, None, at(since), over)

    def given(*elsewhere: Elsewhere) -> list[tuple[Fact, str]]:
        told = case((0, Issued()), (36, Started(60)), elsewhere=elsewhere, **NURSE)
        return reasons(why(told, START))

    words = (
        "A reaction was suspected with another unit of the patient (bed 4, platelets) from 10:05"
    )
    assert given(held(5, 33)) == [(Fact.HELD, f"{words} until 10:33; that held this one.")]
    assert given(held(5, None)) == [(Fact.HELD, f"{words}; that held this one.")]
    assert given(held(-40, -5), held(31, None)) == []


def test_a_start_that_would_have_been_refused_then_says_so() -> None:
    elsewhere = Elsewhere("unit-2", "4", Component.PLATELETS, None, at(-20), at(33))
    given = case(
        (0, Issued()), (20, SOUND), (21, CHECKED), (36, Started(60)), elsewhere=(elsewhere,)
    )

    assert acts(why(given, START))[0][-1] == (
        "The start would then have been refused: a reaction is suspected with another unit of this "
        "patient (bed 4, platelets)."
    )


def test_done_in_time_and_charted_late_is_no_breach_and_says_so() -> None:
    charted = event(3, 25, FULL, recorded_at=at(50))
    given = case((0, Issued()), (10, Started(60)), charted, **NURSE)
    found = why(given, FIRST)

    assert (found.breach, found.avoided, found.useless) == (None, (), ())
    assert said(found) == [
        (
            "10:10",
            Fact.COUNTED,
            "Started at 10:10: the first check was due at 10:25, at the latest 10:30.",
        ),
        (
            "10:25",
            Fact.LATE_ENTRY,
            (
                "Done in time, at 10:25, and charted at 10:50, 25 min later: until then the board "
                "showed it as passed."
            ),
        ),
    ]


def test_sent_back_in_time_and_charted_late() -> None:
    given = case((0, Issued()), event(2, 20, Returned(), recorded_at=at(50)), **NURSE)

    assert reasons(why(given, START)) == [
        (
            Fact.LATE_ENTRY,
            (
                "Done in time, at 10:20, and charted at 10:50, 30 min later: until then the board "
                "showed it as passed."
            ),
        )
    ]


def test_done_late_and_charted_later_still_or_before_the_limit_it_was_owed_by() -> None:
    late = case((0, Issued()), (10, Started(60)), event(3, 35, FULL, recorded_at=at(60)), **NURSE)
    soon = case((0, Issued()), (10, Started(60)), event(3, 22, FULL, recorded_at=at(29)), **NURSE)
    strict = replace(soon, policy=with_policy(charting_late=timedelta(minutes=5)))

    assert reasons(why(late, FIRST)) == [
        (
            Fact.LATE_ENTRY,
            (
                "Done at 10:35, and charted at 11:00, 25 min later: until then the board showed it "
                "as passed."
            ),
        )
    ]
    assert reasons(why(soon, FIRST)) == []
    assert reasons(why(strict, FIRST)) == [
        (
            Fact.LATE_ENTRY,
            (
                "Done in time, at 10:22, and charted at 10:29, 7 min later: until then the board "
                "showed it as still owed."
            ),
        )
    ]


def test_a_unit_that_was_sent_back_late_or_not_at_all() -> None:
    back = case((0, Issued()), (2, SOUND), (44, Returned()), **NURSE)
    found = why(back, ClockName.RETURN)

    assert said(found)[0][2] == "Out of storage since 10:00: to be started or sent back by 10:30."
    assert acts(found) == [
        (
            "Sending back",
            "14 min earlier, at 10:30 instead of 10:44",
            "It would have kept as well: Start.",
        )
    ]
    kept = case((0, Issued()), **NURSE)
    found = why(kept, ClockName.RETURN, now=at(50))
    assert acts(found) == [
        (
            "Sending back",
            "at 10:30 at the latest; it is not recorded",
            "It would have kept as well: Start.",
        )
    ]
    assert [one for _, _, one in said(found)][-1] == (
        "It was neither sent back nor started by the limit 10:30, and is still owed."
    )


def test_where_surroundings_matter() -> None:
    """From the issue for a start; from half past for a check; nothing is owed of another limit."""
    asked, check = ask(LATE, (START, 1), NOW), ask(LATE, (FIRST, 1), NOW)
    assert asked is not None
    assert check is not None

    second = timedelta(seconds=1)
    assert near(asked) == Period(at(0), at(30) + second)
    assert near(check) == Period(at(46), at(56) + second)
    assert ask(LATE, (FIRST, 2), NOW) is None
    assert ask(case((36, Started(60))), (FIRST, 1), NOW) is None


def test_a_unit_that_was_neither_started_nor_sent_back_in_time() -> None:
    waiting = why(case((0, Issued()), **NURSE), START, now=at(50))
    returned = why(case((0, Issued()), (2, SOUND), (44, Discarded("torn")), **NURSE), START)

    assert acts(waiting) == [
        (
            "Start",
            "at 10:30 at the latest; it is not recorded",
            "It would have kept as well: Return to stock.",
            "Baseline observations would then have been missed.",
        ),
        (
            "Sending back",
            "at 10:30 at the latest; it is not recorded",
            "It would have kept as well: Return to stock.",
        ),
    ]
    assert said(waiting)[-1][2] == ("It was never started by the limit 10:30, and is still owed.")
    assert acts(returned) == [
        (
            "Sending back",
            "14 min earlier, at 10:30 instead of 10:44",
            "It would have kept as well: Return to stock.",
        )
    ]


def test_remarks_stay_where_they_are_when_the_start_comes_earlier() -> None:
    given = case((0, Issued()), (33, Assigned("nurse-1")), (35, SOUND), (36, Started(60)), **NURSE)

    assert acts(why(given, START))[0][2:] == (
        "Moved with it, up to the start: inspection.",
        "Everything after the start would have come earlier by as much.",
    )
