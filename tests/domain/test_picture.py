"""One unit at one instant: what was known, how long it stays up, which observations it shows."""

from datetime import timedelta

import pytest

from server.domain.events import Event
from server.domain.observations import missing_signs
from server.domain.payloads import (
    Cancelled,
    Completed,
    FateRecorded,
    Issued,
    Observed,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Returned,
    Started,
    Voided,
)
from server.domain.picture import Case, observations_shown, picture
from server.domain.window import concerning, observation_window
from server.domain.words import ClockName, ClockState, Fate, Phase
from tests.domain.builders import (
    COMMON,
    FULL,
    PARTIAL,
    Fact,
    around,
    at,
    case,
    event,
    lacking,
    look,
    request,
    running,
    told,
    with_policy,
)

DAY = 24 * 60
ENDED = ((0, Issued()), (10, Started(150)), (90, Completed()))
CLOSED = (*ENDED, (120, FateRecorded(Fate.TRANSFUSED)))


def off_the_board(*facts: Fact) -> object:
    return look(case(*facts), at(30 * DAY)).open_until


def test_what_had_happened_by_an_instant_is_known_at_it() -> None:
    given = running((30, RateSet(90)))

    assert [len(given.known(at=now).events) for now in around(at(30))] == [2, 3, 3]


def test_what_was_recorded_later_was_not_known() -> None:
    late_entry = event(9, 30, RateSet(90), recorded_at=at(55))
    given = case((0, Issued()), (10, Started(60)), late_entry)

    assert [len(given.known(known_at=now).events) for now in around(at(55))] == [2, 3, 3]
    assert look(given.known(known_at=at(54)), at(40)).infusion.given_ml == 30.0
    assert look(given, at(40)).infusion.given_ml == 35.0


def test_a_correction_counts_for_every_instant_that_is_looked_back_at() -> None:
    given = running((30, Paused()), (50, Voided("e3", "other pump")))

    assert [look(given, now).episode.phase for now in (at(40), at(60))] == [Phase.RUNNING] * 2
    assert picture(given.known(at=at(40), known_at=at(40)), at(40)).episode.phase == Phase.PAUSED


def test_a_screen_showed_what_came_from_a_clock_that_was_ahead() -> None:
    """Recorded at 29 min under a bedside time of 30: known at 29 it was on the screen at 29."""
    ahead = event(9, 30, Paused(), recorded_at=at(29))
    given = case((0, Issued()), (10, Started(60)), ahead)

    shown, hindsight = (
        picture(given.known(at=at(29), known_at=known_at), at(29)).episode.phase
        for known_at in (at(29), None)
    )

    assert (shown, hindsight) == (Phase.PAUSED, Phase.RUNNING)
    assert len(given.known(at=at(29), known_at=at(60)).events) == 2


def test_everything_is_known_unless_said_otherwise() -> None:
    given = running((30, RateSet(90)))

    assert given.known() == given


def test_what_comes_next_is_what_falls_due_first() -> None:
    issued, begun = look(case((0, Issued())), at(5)), look(running((5, FULL)), at(12))
    watched = look(case(*CLOSED, (100, FULL)), at(130))

    assert [clock and clock.name for clock in (issued.next_clock, begun.next_clock)] == [
        ClockName.START,
        ClockName.FIRST_CHECK,
    ]
    assert watched.next_clock is None


def test_a_clock_without_a_due_time_is_next_by_its_limit() -> None:
    """A start that lies a minute ahead: its baseline can still be taken."""
    given = case((0, Issued()), (10, Started(60)))
    seen = picture(given, at(9))

    assert seen.next_clock is not None
    assert [clock.name for clock, state in seen.clocks if state is ClockState.OPEN] == [
        ClockName.RETURN,
        ClockName.BASELINE_CHECK,
    ]
    assert seen.next_clock.name is ClockName.BASELINE_CHECK


@pytest.mark.parametrize(
    ("facts", "until"),
    [
        ((), None),
        (ENDED, None),
        (CLOSED, at(90 + DAY)),
        ((*ENDED, (3 * DAY, FateRecorded(Fate.TRANSFUSED))), at(3 * DAY)),
        (((0, Issued()), (20, Returned())), at(20 + DAY)),
        (((0, Cancelled("not needed")),), at(DAY)),
        ((*CLOSED, (200, ReactionSuspected())), None),
        ((*CLOSED, (200, ReactionSuspected()), (300, ReactionClosed("none"))), at(90 + DAY)),
    ],
)
def test_a_unit_leaves_the_board_accounted_for_without_suspicion_and_watched(
    facts: tuple[Fact, ...], until: object
) -> None:
    assert off_the_board(*facts) == until


def shown(given: Case, now: object = None) -> list[str]:
    return [item.id for item in observations_shown(given, now or at(400))]  # type: ignore[arg-type]


def test_observations_are_shown_from_a_look_back_before_the_issue_to_the_end_of_the_watch() -> None:
    taken = (*around(at(-240)), *around(at(90 + DAY + 2)))
    given = case(*ENDED, *((instant, PARTIAL) for instant in taken))

    assert shown(given) == ["e5", "e6", "e7", "e8"]


def test_without_an_end_observations_are_shown_up_to_now() -> None:
    given = running((35, FULL), (42, FULL), (43, FULL))

    assert shown(given, at(40)) == ["e3", "e4"]


def test_before_the_issue_the_look_back_counts_from_now_and_without_it_from_the_start() -> None:
    waiting = case((-241, FULL), (-100, FULL))
    imported = case((-241, FULL), (-100, FULL), (0, Started(60)), history=True)

    assert (shown(waiting, at(0)), shown(imported, at(0))) == (["e2"], ["e2"])


def window_of(*facts: Fact, **fields: object) -> list[str]:
    asked = request(recorded_at=at(0), **fields)
    return [item.id for item in concerning(asked, COMMON, told(*facts))]


def test_observations_concern_a_unit_from_a_look_back_before_it_was_asked_for() -> None:
    taken = [(instant, FULL) for instant in around(at(-240))]

    assert window_of(*taken) == ["e2", "e3"]
    assert window_of(*taken, requested_at=at(-60)) == ["e1", "e2", "e3"]


def test_an_earlier_fact_opens_the_window_earlier_even_if_it_was_voided() -> None:
    taken = [(instant, FULL) for instant in around(at(-300))]
    issued = (-60, Issued())

    assert window_of(*taken, issued) == ["e2", "e3", "e4"]
    assert window_of(*taken, issued, (5, Voided("e4", "slip"))) == ["e2", "e3", "e4", "e5"]


def test_a_baseline_limit_beyond_the_look_back_widens_the_window() -> None:
    policy = with_policy(baseline_limit=timedelta(hours=6))

    assert observation_window(request(recorded_at=at(0)), policy, []) == (at(-360), None)


def test_the_window_closes_a_second_after_the_watch_over_an_end_that_stands() -> None:
    last = at(90 + DAY, 1)
    taken = [(instant, FULL) for instant in around(last)]

    assert window_of(*ENDED, *taken) == ["e1", "e2", "e3", "e4", "e5"]
    assert window_of(*ENDED, *taken, (100, Voided("e3", "still running"))) == [
        "e1",
        "e2",
        "e3",
        "e7",
        "e4",
        "e5",
        "e6",
    ]


def test_a_set_recorded_with_the_unit_itself_always_concerns_it() -> None:
    own: Event = event(1, -500, FULL, episode_id="episode-1")
    other: Event = event(2, -500, FULL, episode_id="episode-2")

    assert [item.id for item in concerning(request(), COMMON, (own, other))] == ["e1"]


def test_the_correction_of_a_set_outside_the_window_is_left_out_with_it() -> None:
    assert window_of((-500, FULL), (5, Voided("e1", "slip")), (6, Voided("e9", "slip"))) == ["e3"]


def test_missing_signs_are_named() -> None:
    required = ("temperature", "blood_pressure", "spo2", "consciousness")

    assert missing_signs(FULL, required) == ("spo2", "consciousness")
    assert missing_signs(Observed(systolic_mmhg=120), required) == required
    assert missing_signs(FULL, COMMON.observations_required) == ()


def test_a_policy_that_asks_for_more_signs_counts_fewer_sets_as_full() -> None:
    policy = with_policy(observations_required=(*COMMON.observations_required, "spo2"))

    assert look(running((25, FULL)), at(26)).standing.in_state(ClockState.MET)[-1].name == (
        ClockName.FIRST_CHECK
    )
    assert [
        clock.name
        for clock in look(running((25, FULL), policy=policy), at(26)).standing.in_state(
            ClockState.DUE
        )
    ] == [ClockName.FIRST_CHECK]


def test_what_is_missing_before_the_start_is_asked_of_the_folded_facts() -> None:
    assert lacking(case((0, Issued())), at(1)) == (
        "the bag was not inspected",
        "identity was not checked by two people at the bedside",
    )
