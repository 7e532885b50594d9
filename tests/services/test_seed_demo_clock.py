"""The clock of a demonstration runs at its own speed."""

from datetime import UTC, datetime, timedelta

from server.clock import running_clock

START = datetime(2026, 11, 25, 10, tzinfo=UTC)


def test_a_minute_passes_for_each_real_second_at_speed_60() -> None:
    real = iter([100.0, 100.0, 101.0, 160.5, 3700.0])

    now = running_clock(START, 60, lambda: next(real))

    minutes = [(now() - START) / timedelta(minutes=1) for _ in range(4)]
    assert minutes == [0, 1, 60.5, 3600]


def test_it_shows_whole_seconds() -> None:
    real = iter([0.0, 1.9])

    now = running_clock(START, 1, lambda: next(real))

    assert now() == START + timedelta(seconds=1)
