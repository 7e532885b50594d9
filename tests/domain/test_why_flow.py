"""Why a unit was not in by its limit, and the smallest rate that would have had it in."""

from dataclasses import replace
from typing import Any

from server.domain.payloads import (
    Completed,
    Issued,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Received,
    Resumed,
    Spiked,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.picture import Case
from server.domain.why.link import Fact
from server.domain.words import ClockName
from tests.domain.builders import PATIENT, at, case, with_policy
from tests.domain.builders import Fact as Told
from tests.domain.whys import NURSE, acts, links, reasons, said, vain, why

FINISH = ClockName.FINISH


def unit(*facts: Told, start: int = 10, rate: float = 60, **fields: Any) -> Case:
    """280 mL issued at the base, so that all of it has to be in by 14:00."""
    return case((0, Issued()), (start, Started(rate)), *facts, **(NURSE | fields))


def test_a_rate_that_was_too_low_from_the_start() -> None:
    found = why(unit((25, RateSet(70)), (252, Completed())), FINISH)

    assert said(found) == [
        ("10:00", Fact.COUNTED, "Issued at 10:00: all of it to be in by 14:00."),
        (
            "10:25",
            Fact.RATE_TOO_LOW,
            (
                "The rate was too low from the start: 70 mL/h at 10:25, where 74 mL/h "
                "were needed for "
                "the 265 mL that were left."
            ),
        ),
        ("14:12", Fact.DONE_LATE, "Ended at 14:12, 12 min past the limit 14:00."),
    ]
    assert acts(found) == [
        (
            "End",
            "12 min earlier, at 14:00 instead of 14:12",
            "14 mL would then not have been given.",
        ),
        (
            "Rate after the slow start",
            "with 74 mL/h from 10:25 on it would have ended at 13:59, not at 14:12",
            "The permitted rate was 300 mL/h.",
        ),
    ]
    assert vain(found) == [
        ("Start", "At no minute between 10:00 and 10:10 would it have kept the limit."),
        ("Issue", "At no minute between 10:00 and 10:10 would it have kept the limit."),
    ]


def test_the_first_rate_kept_for_long_and_the_one_after_it() -> None:
    """What was needed is asked where the rate was first set, not where it still had to be."""
    slow = why(unit((31, RateSet(150)), (100, RateSet(20)), (270, Completed())), FINISH)
    soon = why(unit((30, RateSet(150)), (100, RateSet(20)), (270, Completed())), FINISH)
    after = why(unit((250, RateSet(150)), (270, Completed())), FINISH)

    assert reasons(slow)[0] == (
        Fact.SLOW_FOR_LONG,
        "The first rate, 60 mL/h, was kept until 10:31, 6 min longer than the slow start lasts.",
    )
    assert [fact for fact, _ in reasons(slow)] == [Fact.SLOW_FOR_LONG, Fact.RATE_LOWERED]
    assert [fact for fact, _ in reasons(soon)] == [Fact.RATE_LOWERED]
    assert reasons(after) == []


def test_a_rate_that_was_lowered_and_pauses_with_their_reasons() -> None:
    found = why(
        unit(
            (25, RateSet(100)),
            (60, RateSet(60)),
            (70, RateSet(90)),
            (100, ReactionSuspected(("fever",))),
            (101, Paused("fever")),
            (130, Resumed()),
            (131, ReactionClosed("none")),
            (140, Paused("lost access")),
            (150, Resumed(50)),
            (160, Paused()),
            (165, Resumed()),
            (255, Completed(given_ml=280)),
        ),
        FINISH,
    )

    assert [(fact, words) for fact, words in reasons(found) if fact is not Fact.REACTION] == [
        (
            Fact.RATE_LOWERED,
            (
                "The rate was lowered at 11:00 from 100 to 60 mL/h: the spare to the "
                "limit went from "
                "56 min to −27 min."
            ),
        ),
        (
            Fact.PAUSED,
            (
                "Paused 11:41–12:10, for 29 min for a suspected reaction: the spare to "
                "the limit went "
                "from 39 min to 10 min."
            ),
        ),
        (
            Fact.PAUSED,
            (
                "Paused 12:20–12:30, for 10 min (“lost access”), and went on at 50 mL/h: the "
                "spare to the limit went from 10 min to −1 h 12."
            ),
        ),
        (
            Fact.PAUSED,
            "Paused 12:40–12:45, for 5 min: the spare to the limit went from −1 h 12 to −1 h 17.",
        ),
    ]
    assert [link.event_ids for link in links(found, Fact.PAUSED)] == [
        ("e7", "e8"),
        ("e10", "e11"),
        ("e12", "e13"),
    ]


def test_a_pause_that_was_never_ended_and_changes_after_the_limit() -> None:
    over = why(unit((25, RateSet(60)), (100, Paused()), (250, Stopped("clotted"))), FINISH)
    still = why(unit((25, RateSet(60)), (100, Paused())), FINISH, now=at(260))
    after = why(
        unit((25, RateSet(60)), (250, RateSet(20)), (260, Paused()), (300, Completed())), FINISH
    )

    assert reasons(over)[-1] == (Fact.PAUSED, "Paused 11:40–14:10, for 2 h 30.")
    assert reasons(still)[-1] == (Fact.PAUSED, "Paused 11:40–14:20, for 2 h 40.")
    assert [fact for fact, _ in reasons(after)] == [Fact.RATE_TOO_LOW]


def test_a_late_start_that_left_too_little_or_only_came_past_its_limit() -> None:
    slow = replace(PATIENT, overload_risks=("heart failure",))
    little = why(unit((145, RateSet(100)), (300, Completed()), start=130, patient=slow), FINISH)
    late = why(unit((65, RateSet(60)), (330, Completed()), start=50), FINISH)

    assert reasons(little)[0] == (
        Fact.TOO_LITTLE_LEFT,
        (
            "Started at 12:10: that left 1 h 50 for 280 mL; at the permitted 100 mL/h "
            "the latest start "
            "was 11:12."
        ),
    )
    assert ("Rate after the slow start",) not in [one[:1] for one in acts(little)]
    assert vain(little) == [
        (
            "Rate after the slow start",
            (
                "With the permitted 100 mL/h after the slow start 173 of 280 mL would "
                "have been in by "
                "14:00."
            ),
        )
    ]
    assert reasons(late)[0] == (
        Fact.STARTED_LATE,
        "Started at 10:50, 20 min past its own limit: that left 3 h 10.",
    )


def test_an_empty_bag_that_hung_on() -> None:
    found = why(unit((25, RateSet(150)), (250, Completed())), FINISH)

    assert reasons(found) == [
        (
            Fact.HUNG_EMPTY,
            "By the recorded rates all 280 mL were in at 12:11; the end was recorded at 14:10.",
        )
    ]
    assert vain(found) == [
        ("Rate after the slow start", "By the recorded rates all was in before the limit.")
    ]


def test_a_limit_that_counts_from_the_start_moves_with_it() -> None:
    policy = with_policy(finish_from=("spiked", "started"))
    found = why(unit((25, RateSet(60)), (270, Completed()), policy=policy), FINISH)
    spiked = case(
        (0, Issued()), (5, Spiked()), (10, Started(60)), (270, Completed()), policy=policy
    )

    assert said(found)[0] == (
        "10:10",
        Fact.COUNTED,
        "Started at 10:10: all of it to be in by 14:10.",
    )
    assert ("Start", "The limit counts from it and would have moved along with it.") in vain(found)
    assert said(why(spiked, FINISH))[0][2] == "Spiked at 10:05: all of it to be in by 14:05."


def test_removal_receipt_and_label_are_named_as_what_the_limit_counts_from() -> None:
    out = case((0, Issued(removed_at=at(-20))), (10, Started(60)), (300, Completed()), **NURSE)
    received = case(
        (0, Issued()),
        (5, Received()),
        (10, Started(60)),
        (300, Completed()),
        policy=with_policy(finish_from=("received",)),
    )
    expiring = case((0, Issued(expires_at=at(200))), (10, Started(60)), (300, Completed()), **NURSE)

    assert said(why(out, FINISH))[0][2] == "Out of storage at 09:40: all of it to be in by 13:40."
    assert said(why(received, FINISH))[0][2] == "Received at 10:05: all of it to be in by 14:05."
    assert said(why(expiring, FINISH))[0][:3] == (
        "10:00",
        Fact.COUNTED,
        "Its label ran out before its hours were over: all of it to be in by 13:20.",
    )


def test_a_unit_that_was_not_ended_or_whose_volume_is_not_known() -> None:
    hanging = why(unit((25, RateSet(60))), FINISH, now=at(260))
    unknown = why(unit((25, RateSet(60)), (250, Completed()), volume_ml=None), FINISH)
    never = why(case((0, Issued()), **NURSE), FINISH, now=at(260))

    assert said(hanging)[-1][2] == "Its end is not recorded by the limit 14:00, and is still owed."
    assert acts(hanging) == [
        (
            "End",
            "at 14:00 at the latest; it is not recorded",
            "50 mL would then not have been given.",
        )
    ]
    assert reasons(unknown) == []
    assert [name for name, *_ in acts(unknown)] == [
        "Start",
        "End",
        "Issue",
        "Rate after the slow start",
    ]
    assert said(never)[-1][1] is Fact.NOT_DONE
    assert [one[:2] for one in acts(never)] == [
        ("Sending back", "at any time until 14:20; it is not recorded")
    ]


def test_pauses_over_the_slow_start_and_readings_of_the_pump() -> None:
    """The rate is set where the flow goes on; what was read later says nothing of another rate."""
    found = why(
        unit(
            (20, Paused()),
            (30, Resumed(40)),
            (100, RateSet(60)),
            (120, VolumeRead(90)),
            (255, Completed(given_ml=280)),
        ),
        FINISH,
    )
    rates = [one for one in acts(found) if one[0] == "Rate after the slow start"]

    assert rates == [
        (
            "Rate after the slow start",
            "with 78 mL/h from 10:25 on it would have ended at 13:57, not at 14:15",
            "The permitted rate was 300 mL/h.",
        )
    ]


def test_a_unit_that_was_started_after_its_limit_or_ended_in_its_slow_start() -> None:
    late = why(unit((300, Completed()), start=250), FINISH)
    short = why(unit((245, Stopped("fever")), start=235), FINISH)

    assert reasons(late)[0][0] is Fact.TOO_LITTLE_LEFT
    assert [fact for fact, _ in reasons(short)] == [Fact.TOO_LITTLE_LEFT]
    assert "Rate after the slow start" not in [name for name, _ in (*vain(late), *vain(short))]


def test_a_record_without_an_issue_and_a_start_at_the_issue() -> None:
    policy = with_policy(finish_from=("started",))
    given = case((10, Started(60)), (270, Completed()), policy=policy, history=True)
    at_once = why(unit((25, RateSet(60)), (270, Completed()), start=0), FINISH)

    assert vain(why(given, FINISH))[0] == (
        "Start",
        "The limit counts from it and would have moved along with it.",
    )
    assert [name for name, _ in vain(why(given, FINISH))] == ["Start"]
    nothing = "There was no whole minute by which it could have moved."
    assert vain(at_once) == [("Start", nothing), ("Issue", nothing)]
