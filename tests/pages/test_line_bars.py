"""What has run in and what is to follow, split at the finish limit."""

from server.domain.episode import Flow
from server.domain.payloads import Completed, Paused, RateSet, Resumed, Stopped, VolumeRead
from server.domain.picture import Case, picture
from server.pages.line_bars import Bar, Run, bars, runs
from server.pages.time_window import Window
from tests.domain.builders import at, case
from tests.pages.units import running

WINDOW = Window(at(-60), at(340))  # four minutes are one per cent
BEGUN = 17.5  # the start at 10 min


def drawn(unit: Case, minute: int) -> list[Bar]:
    """The bars of a unit, seen at a minute."""
    return list(bars(picture(unit, at(minute)), WINDOW))


def test_runs_are_the_stretches_with_a_rate() -> None:
    flow = [
        Flow(at(0), rate_ml_h=60),
        Flow(at(15), rate_ml_h=150),
        Flow(at(20), given_ml=40),
        Flow(at(30), rate_ml_h=0),
        Flow(at(45), rate_ml_h=150),
    ]

    assert runs([]) == []
    assert runs(flow) == [Run(at(0), at(30)), Run(at(45), None)]


def test_running_unit_is_filled_up_to_now_and_outlined_to_its_projected_end() -> None:
    unit = running(rate=140, duration_minutes=120)  # 280 mL: in by 130 min

    assert drawn(unit, 50) == [
        Bar("given", BEGUN, 10.0, (BEGUN, 47.5)),
        Bar("todo", 27.5, 20.0, (BEGUN, 47.5)),
    ]


def test_what_would_run_past_the_limit_is_a_bar_of_its_own() -> None:
    unit = running((25, RateSet(60)), rate=60)  # in by 290 min, the limit is at 240

    assert drawn(unit, 90) == [
        Bar("given", BEGUN, 20.0, (BEGUN, 75.0)),
        Bar("todo", 37.5, 37.5, (BEGUN, 75.0)),
        Bar("over", 75.0, 0.0, (75.0, 87.5)),
        Bar("beyond", 75.0, 12.5, (75.0, 87.5)),
    ]


def test_unit_that_runs_past_its_limit_shows_what_ran_too_long() -> None:
    unit = running((25, RateSet(60)), rate=60)

    assert drawn(unit, 260) == [
        Bar("given", BEGUN, 57.5, (BEGUN, 75.0)),
        Bar("todo", 75.0, 0.0, (BEGUN, 75.0)),
        Bar("over", 75.0, 5.0, (75.0, 87.5)),
        Bar("beyond", 80.0, 7.5, (75.0, 87.5)),
    ]


def test_pause_leaves_a_gap_and_nothing_projected() -> None:
    unit = running((50, Paused()), rate=140)

    assert drawn(unit, 60) == [Bar("given", BEGUN, 10.0)]


def test_resumed_unit_has_two_bars_filled() -> None:
    unit = running((50, Paused()), (70, Resumed()), rate=140)

    kinds = [(bar.kind, bar.x) for bar in drawn(unit, 90)]

    assert kinds == [("given", BEGUN), ("given", 32.5), ("todo", 37.5)]


def test_ended_unit_stands_still() -> None:
    assert drawn(running((130, Completed()), rate=140), 200) == [Bar("given", BEGUN, 30.0)]


def test_unit_that_ended_past_its_limit_keeps_the_part_past_it() -> None:
    assert drawn(running((260, Stopped("late")), rate=60), 280) == [
        Bar("given", BEGUN, 57.5),
        Bar("over", 75.0, 5.0),
    ]


def test_unit_of_unknown_volume_shows_only_what_has_run() -> None:
    assert drawn(running(rate=140, volume_ml=None), 50) == [
        Bar("given", BEGUN, 10.0, (BEGUN, 75.0)),
        Bar("over", 75.0, 0.0, (75.0, 100.0)),
    ]


def test_emptied_unit_that_still_runs_ends_at_now() -> None:
    unit = running((50, VolumeRead(280)), rate=140)

    assert drawn(unit, 60) == [
        Bar("given", BEGUN, 12.5, (BEGUN, 30.0)),
        Bar("todo", 30.0, 0.0, (BEGUN, 30.0)),
    ]


def test_bar_out_of_sight_is_not_drawn() -> None:
    past = Window(at(200), at(300))

    assert list(bars(picture(running((130, Completed()), rate=140), at(210)), past)) == []


def test_unit_that_was_not_started_has_no_bars() -> None:
    assert drawn(case(), 60) == []
