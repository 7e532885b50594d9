"""What kept the nurse: other beds, handover, breaks, the end of the shift; nobody is named."""

from dataclasses import replace

from server.domain.cover import Cover
from server.domain.payloads import (
    Assigned,
    Completed,
    Issued,
    ReactionClosed,
    ReactionSuspected,
    Started,
)
from server.domain.why.link import Fact
from server.domain.why.surroundings import Surroundings
from server.domain.words import ClockName
from server.domain.workload.capacity import Duty
from tests.domain.builders import CHECKED, FULL, at, case
from tests.domain.builders import Fact as Told
from tests.domain.whys import NURSE, acts, links, other, reasons, said, vain, why
from tests.domain.working import period, shift

START, FIRST, RUNNING = ClockName.START, ClockName.FIRST_CHECK, ClockName.RUNNING_CHECK
LATE_START = case((0, Issued()), (36, Started(60)), **NURSE)
LATE_CHECK = case((0, Issued()), (10, Started(60)), (35, FULL), **NURSE)


def test_a_unit_issued_before_its_nurse_was_free() -> None:
    busy = other("12", (-30, Issued()), (-9, CHECKED), (-5, Started(60)))
    found = why(LATE_START, START, around=Surroundings(others=(busy,)))

    assert said(found) == [
        (
            "09:51",
            Fact.NURSE_BUSY,
            (
                "Issued before its nurse was free: busy with the start and the first 15 "
                "min in bed 12 "
                "until 10:10, which left 20 min to the limit 10:30."
            ),
        ),
        ("10:00", Fact.COUNTED, "Issued at 10:00: to be started by 10:30."),
        ("10:36", Fact.DONE_LATE, "Started at 10:36, 6 min past the limit 10:30."),
    ]
    (link,) = links(found, Fact.NURSE_BUSY)
    assert (link.from_at, link.until_at, link.episode_ids) == (at(-9), at(10), ("unit-12",))
    assert found.says_why


def test_two_starts_that_fell_on_one_nurse_and_where_an_earlier_one_would_have_been() -> None:
    second = other("12", (0, Issued()), (22, Started(60)))
    found = why(LATE_START, START, around=Surroundings(others=(second,)))

    assert reasons(found) == [
        (
            Fact.STARTS_COLLIDED,
            (
                "Two starts fell on one nurse: the unit in bed 12 was started at 10:22 and watched "
                "until 10:37, past the limit 10:30."
            ),
        )
    ]
    assert acts(found)[0] == (
        "Start",
        "6 min earlier, at 10:30 instead of 10:36",
        "Everything after the start would have come earlier by as much.",
        "Its nurse was then with the start in bed 12, until 10:37.",
    )


def test_units_of_other_nurses_of_the_same_bed_and_long_over_kept_nobody() -> None:
    others = (
        other("12", (0, Issued()), (22, Started(60)), nurse="nurse-2"),
        other("13", (0, Issued()), (22, Started(60)), nurse=None),
        other("14", (-90, Issued()), (-60, Started(60))),
        other("15", (0, Issued())),
        replace(other("4", (0, Issued()), (22, Started(60)))),
    )

    assert not why(LATE_START, START, around=Surroundings(others=others)).says_why


def test_who_answered_is_asked_at_the_time_by_handing_over_and_by_cover() -> None:
    given = case((0, Issued()), (5, Assigned("nurse-2")), (36, Started(60)), **NURSE)
    covered = Cover("c", "ward-1", "nurse-3", "nurse-2", at(10), at(60), at(0), "charge")
    busy = other("12", (0, Issued()), (22, Started(60)), nurse="nurse-3")
    found = why(given, START, around=Surroundings(others=(busy,), covers=(covered,)))

    assert [fact for fact, _ in reasons(found)] == [Fact.STARTS_COLLIDED]
    assert not why(given, START, around=Surroundings(others=(busy,))).says_why


def test_a_check_that_fell_into_the_handover_a_break_and_other_beds() -> None:
    taking = other("7", (-60, Issued()), (-50, Started(60)), (26, FULL), (29, FULL), (40, FULL))
    duty = shift(
        "nurse-1", -200, 300, breaks=(period(24, 34),), duties=(Duty(period(20, 24), "round"),)
    )
    around = Surroundings(
        others=(taking,), on_duty=(duty,), handovers=(period(15, 25), period(90, 99))
    )
    found = why(LATE_CHECK, FIRST, around=around)

    assert reasons(found) == [
        (
            Fact.HANDOVER,
            (
                "The handover 10:15–10:25 fell into the time in which it was owed, which "
                "left 5 min to "
                "the limit 10:30."
            ),
        ),
        (
            Fact.DUTY,
            (
                "Its nurse was on another duty (round) 10:20–10:24, "
                "which left 6 min to the limit 10:30."
            ),
        ),
        (
            Fact.BREAK,
            "Its nurse was on a break that nobody covered 10:24–10:34, past the limit 10:30.",
        ),
        (
            Fact.OTHER_SETS,
            "Its nurse took observations elsewhere while it was owed: 10:26 bed 7, 10:29 bed 7.",
        ),
    ]
    assert links(found, Fact.BREAK)[0].shift_id == duty.shift_id
    assert acts(found) == [
        (
            "Full set of observations",
            "5 min earlier, at 10:30 instead of 10:35",
            "Its nurse was then away, 10:24–10:34.",
        )
    ]


def test_a_covered_break_is_the_covering_nurses() -> None:
    around = Surroundings(
        on_duty=(
            shift("nurse-1", breaks=(period(24, 34), period(90, 99))),
            shift("nurse-2", duties=(Duty(period(90, 99), "round"),)),
        ),
        covers=(Cover("c", "ward-1", "nurse-2", "nurse-1", at(24), at(34), at(0), "charge"),),
    )

    assert not why(LATE_CHECK, FIRST, around=around).says_why


def test_the_limit_lay_outside_the_shift() -> None:
    after = Surroundings(on_duty=(shift("nurse-1", -400, 25), shift("nurse-2", -400, 25)))
    before = Surroundings(on_duty=(shift("nurse-1", 60, 200),))

    assert reasons(why(LATE_CHECK, FIRST, around=after)) == [
        (Fact.OFF_SHIFT, "The shift of its nurse ended 10:25; the limit 10:30 lay after it.")
    ]
    assert reasons(why(LATE_CHECK, FIRST, around=before)) == [
        (Fact.OFF_SHIFT, "The shift of its nurse began 11:00; the limit 10:30 lay before it.")
    ]


def test_nobody_had_the_unit_and_since_when_somebody_did() -> None:
    never = case((0, Issued()), (36, Started(60)))
    later = case((0, Issued()), (33, Assigned("nurse-1")), (36, Started(60)))
    history = case((0, Issued()), (36, Started(60)), history=True)

    assert reasons(why(never, START)) == [(Fact.NOBODY, "Nobody had the unit at 10:30.")]
    assert reasons(why(history, START)) == []
    assert reasons(why(later, START)) == [
        (Fact.NOBODY, "Nobody had the unit at 10:30; somebody has had it since 10:33.")
    ]


def test_reactions_suspected_in_other_beds_of_the_nurse() -> None:
    def reacting(bed: str, since: int, closed: int | None) -> Surroundings:
        facts: list[Told] = [
            (-60, Issued()),
            (-40, Started(60)),
            (since, ReactionSuspected(("fever",))),
        ]
        if closed is not None:
            facts.append((closed, ReactionClosed("none")))
        return Surroundings(others=(other(bed, *facts),))

    assert reasons(why(LATE_CHECK, FIRST, around=reacting("9", 22, 60))) == [
        (
            Fact.OTHER_REACTION,
            "A reaction was suspected in bed 9, of the same nurse, from 10:22 until 11:00.",
        )
    ]
    assert reasons(why(LATE_CHECK, FIRST, around=reacting("9", -10, None))) == [
        (Fact.OTHER_REACTION, "A reaction was suspected in bed 9, of the same nurse, from 09:50.")
    ]
    assert not why(LATE_CHECK, FIRST, around=reacting("9", -30, 5)).says_why
    assert not why(LATE_CHECK, FIRST, around=reacting("9", 40, None)).says_why


def test_what_is_owed_for_hours_is_not_explained_by_a_quarter_of_an_hour() -> None:
    """The fate of a bag: other beds, breaks and handovers say nothing; the end of a shift does."""
    given = case((0, Issued()), (10, Started(300)), (60, Completed()), **NURSE)
    around = Surroundings(
        others=(other("12", (100, Issued()), (110, Started(60)), (150, FULL)),),
        on_duty=(shift("nurse-1", 0, 200, breaks=(period(130, 140),)),),
        handovers=(period(190, 200),),
    )
    found = why(given, ClockName.FATE, around=around)

    assert said(found) == [
        (
            "11:00",
            Fact.COUNTED,
            (
                "The bag moved last at 11:00: its fate was to be recorded at 12:00, "
                "at the latest 15:00."
            ),
        ),
        (
            "13:20",
            Fact.OFF_SHIFT,
            "The shift of its nurse ended 13:20; the limit 15:00 lay after it.",
        ),
        ("15:00", Fact.NOT_DONE, "No fate is recorded by the limit 15:00, and is still owed."),
    ]
    assert acts(found) == [("Fate of the bag", "at 15:00 at the latest; it is not recorded")]
    assert vain(found) == []
