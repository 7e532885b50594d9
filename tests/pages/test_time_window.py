"""The stretch of time that all lines share, and its axis."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from server.pages.time_window import Tick, Window, axis, window_at

LONDON = ZoneInfo("Europe/London")
WINDOW = Window(datetime(2026, 3, 3, 8, 30, tzinfo=UTC), datetime(2026, 3, 3, 14, 15, tzinfo=UTC))


def test_window_begins_an_hour_and_a_half_back_on_a_step() -> None:
    assert window_at(datetime(2026, 3, 3, 10, 7, 9, tzinfo=UTC)) == WINDOW


def test_window_stands_still_until_the_next_step() -> None:
    moves = datetime(2026, 3, 3, 10, 15, tzinfo=UTC)
    step = timedelta(minutes=15)

    assert window_at(moves - timedelta(seconds=1)) == WINDOW
    assert window_at(moves) == Window(WINDOW.start + step, WINDOW.end + step)


def test_place_is_per_cent_of_the_window_even_out_of_sight() -> None:
    length = WINDOW.end - WINDOW.start

    assert [WINDOW.x(WINDOW.start + length * part) for part in (-0.1, 0, 0.25, 1, 1.5)] == [
        -10.0,
        0.0,
        25.0,
        100.0,
        150.0,
    ]


def test_cut_keeps_what_is_in_sight() -> None:
    hour = timedelta(hours=1)

    assert WINDOW.cut(WINDOW.start - hour, WINDOW.start) is None
    assert WINDOW.cut(WINDOW.end, WINDOW.end + hour) is None
    assert WINDOW.cut(WINDOW.start - hour, WINDOW.end + hour) == (0.0, 100.0)
    assert WINDOW.cut(WINDOW.start, WINDOW.start + (WINDOW.end - WINDOW.start) / 2) == (0.0, 50.0)


def test_axis_has_the_whole_hours_of_the_ward() -> None:
    assert axis(WINDOW, LONDON) == tuple(
        Tick(WINDOW.x(datetime(2026, 3, 3, hour, tzinfo=UTC)), f"{hour:02d}:00")
        for hour in range(9, 15)
    )


def test_axis_of_a_zone_between_the_hours_has_its_own_hours() -> None:
    adelaide = ZoneInfo("Australia/Adelaide")  # UTC+10:30 on this day

    ticks = axis(WINDOW, adelaide)

    assert [tick.text for tick in ticks] == ["19:00", "20:00", "21:00", "22:00", "23:00", "00:00"]
    assert ticks[0].x == WINDOW.x(datetime(2026, 3, 3, 8, 30, tzinfo=UTC))


def test_axis_names_the_zone_in_the_night_when_the_clocks_go_back() -> None:
    window = window_at(datetime(2026, 10, 25, 1, 30, tzinfo=UTC))

    assert [tick.text for tick in axis(window, LONDON)] == [
        "01:00 BST",
        "01:00 GMT",
        "02:00 GMT",
        "03:00 GMT",
        "04:00 GMT",
        "05:00 GMT",
    ]
