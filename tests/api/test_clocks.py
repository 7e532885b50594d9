"""Every clock over HTTP, a second before, at, and a second after each of its boundaries."""

from datetime import datetime, timedelta

import pytest

from tests.api.board_api import CHECKED, FULL_SET, NOON, SOUND, BoardApi

SECOND = timedelta(seconds=1)
ISSUED = NOON - timedelta(hours=8)
STARTED = ISSUED + timedelta(minutes=10)


def after(minutes: float, seconds: int = 0, *, of: datetime = ISSUED) -> datetime:
    """An instant so long after another."""
    return of + timedelta(minutes=minutes, seconds=seconds)


def states(api: BoardApi, name: str, boundary: datetime, n: int | None = None) -> list[str]:
    """The states of a clock the second before, at, and the second after an instant."""
    around = (boundary - SECOND, boundary, boundary + SECOND)
    return [str(api.clock_of("e1", name, at, n)["state"]) for at in around]


def test_start_is_owed_thirty_minutes_after_the_issue(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED)

    assert states(ward, "start", after(30)) == ["open", "due", "overdue"]
    assert states(ward, "start", ISSUED + SECOND) == ["open", "open", "open"]


@pytest.mark.parametrize(("late", "state"), [(-1, "met"), (0, "met"), (1, "met_late")])
def test_a_start_at_the_limit_is_in_time(ward: BoardApi, late: int, state: str) -> None:
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "inspected", ISSUED, **SOUND)
    ward.record("e1", "identity_checked", ISSUED, **CHECKED)
    ward.record("e1", "started", after(30, late), rate_ml_h=60)

    assert ward.clock_of("e1", "start", NOON)["state"] == state


def test_return_is_owed_thirty_minutes_after_the_removal(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED, removed_at=after(-5))

    assert states(ward, "return", after(25)) == ["open", "due", "overdue"]


def test_return_lapses_with_the_start(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)

    assert states(ward, "return", STARTED + SECOND)[1:] == ["lapsed", "lapsed"]


def test_finish_is_owed_four_hours_after_the_removal(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED, removed_at=after(-5))

    assert states(ward, "finish", after(235)) == ["pending", "due", "overdue"]
    assert ward.level(after(235)) != "past_limit"
    assert ward.level(after(235, 1)) == "past_limit"


def test_an_expiry_before_it_is_the_finish_limit(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED, expires_at=after(90))

    assert states(ward, "finish", after(90)) == ["pending", "due", "overdue"]


@pytest.mark.parametrize(("late", "state"), [(-1, "met"), (0, "met"), (1, "met_late")])
def test_an_end_at_the_finish_limit_is_in_time(ward: BoardApi, late: int, state: str) -> None:
    ward.start("e1", ISSUED)
    ward.record("e1", "completed", after(240, late))

    assert ward.clock_of("e1", "finish", NOON)["state"] == state


@pytest.mark.parametrize(("early", "state"), [(59, "met"), (60, "met"), (61, "missed")])
def test_a_baseline_is_good_for_an_hour(ward: BoardApi, early: int, state: str) -> None:
    ward.observe("p1", after(-early, of=STARTED) - (SECOND if early > 60 else 0 * SECOND))
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "inspected", ISSUED, **SOUND)
    ward.record("e1", "identity_checked", ISSUED, **CHECKED)
    ward.record("e1", "started", STARTED, rate_ml_h=60)

    assert ward.clock_of("e1", "baseline_check", NOON)["state"] == state


def test_first_check_opens_is_due_and_passes(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)

    assert states(ward, "first_check", after(10, of=STARTED)) == ["pending", "open", "open"]
    assert states(ward, "first_check", after(15, of=STARTED)) == ["open", "due", "due"]
    assert states(ward, "first_check", after(20, of=STARTED)) == ["due", "due", "overdue"]


@pytest.mark.parametrize(
    ("minutes", "seconds", "state"),
    [(9, 59, "overdue"), (10, 0, "met"), (20, 0, "met"), (20, 1, "met_late")],
)
def test_a_set_meets_the_first_check_inside_its_window(
    ward: BoardApi, minutes: int, seconds: int, state: str
) -> None:
    ward.start("e1", ISSUED)
    ward.observe("p1", after(minutes, seconds, of=STARTED))

    assert ward.clock_of("e1", "first_check", after(60, of=STARTED))["state"] == state


def test_running_checks_roll_from_the_last_set(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ward.observe("p1", after(16, of=STARTED))
    due = after(76, of=STARTED)

    assert states(ward, "running_check", after(-15, of=due)) == ["pending", "open", "open"]
    assert states(ward, "running_check", due) == ["open", "due", "due"]
    assert states(ward, "running_check", after(15, of=due)) == ["due", "due", "overdue"]


def test_one_late_set_is_one_breach(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ward.observe("p1", after(15, of=STARTED))
    ward.observe("p1", after(15 + 75, 1, of=STARTED))
    looked_at = after(15 + 76, of=STARTED)

    said = ward.get("/api/episodes/e1", at=looked_at).json()

    assert [(b["clock"], b["n"], b["late_minutes"]) for b in said["breaches"]] == [
        ("running_check", 1, 0.02)
    ]
    assert ward.clock_of("e1", "running_check", looked_at, 2)["due_at"] == _text(
        after(15 + 75 + 60, 1, of=STARTED)
    )


def test_end_check_is_owed_an_hour_after_the_end(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ended = after(180)
    ward.record("e1", "completed", ended)

    assert states(ward, "end_check", after(15, of=ended)) == ["open", "due", "due"]
    assert states(ward, "end_check", after(60, of=ended)) == ["due", "due", "overdue"]


@pytest.mark.parametrize(("late", "state"), [(-1, "met"), (0, "met"), (1, "met_late")])
def test_a_set_sixty_minutes_after_the_end_is_in_time(
    ward: BoardApi, late: int, state: str
) -> None:
    ward.start("e1", ISSUED)
    ward.record("e1", "completed", after(180))
    ward.observe("p1", after(240, late))

    assert ward.clock_of("e1", "end_check", NOON)["state"] == state


def test_set_change_is_owed_twelve_hours_after_it_was_hung(ward: BoardApi) -> None:
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "set_hung", after(5))

    assert states(ward, "set_change", after(5 + 12 * 60)) == ["open", "due", "overdue"]


def test_late_watch_ends_a_day_after_the_end(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ward.record("e1", "completed", after(180))
    over = after(180 + 24 * 60)

    assert states(ward, "late_watch", over)[0] == "open"
    assert states(ward, "late_watch", over)[2] == "lapsed"


def test_fate_is_owed_after_the_end(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ended = after(180)
    ward.record("e1", "completed", ended)

    assert states(ward, "fate", after(60, of=ended)) == ["open", "due", "due"]
    assert states(ward, "fate", after(240, of=ended)) == ["due", "due", "overdue"]


def test_every_clock_says_where_its_limit_comes_from(ward: BoardApi) -> None:
    ward.start("e1", ISSUED)
    ward.record("e1", "set_hung", STARTED)
    ward.record("e1", "completed", after(180))

    said = ward.get("/api/episodes/e1").json()

    assert {clock["clock"] for clock in said["clocks"]} == {
        "start",
        "return",
        "finish",
        "baseline_check",
        "first_check",
        "running_check",
        "end_check",
        "set_change",
        "late_watch",
        "fate",
    }
    assert [clock["clock"] for clock in said["clocks"] if not clock["source"]] == []


def test_an_observation_serves_two_units(ward: BoardApi) -> None:
    second = {
        "id": "e2",
        "patient_id": "p1",
        "ward_id": "w1",
        "bed": "1",
        "component": "platelets",
        "volume_ml": 250,
    }
    ward.made("/api/episodes", second)
    ward.start("e1", ISSUED)
    ended = after(180)
    ward.record("e1", "completed", ended)
    ward.observe("p1", after(10, of=ended), **FULL_SET)
    ward.record("e2", "issued", after(5, of=ended))
    ward.record("e2", "inspected", after(5, of=ended), **SOUND)
    ward.record("e2", "identity_checked", after(5, of=ended), **CHECKED)
    ward.record("e2", "started", after(20, of=ended), rate_ml_h=60)

    assert ward.clock_of("e1", "end_check", NOON)["state"] == "met"
    assert ward.clock_of("e2", "baseline_check", NOON)["state"] == "met"


def _text(instant: datetime) -> str:
    return f"{instant:%Y-%m-%dT%H:%M:%SZ}"
