"""The grid along which a plan moves: instants counted from the full hour, in UTC."""

from datetime import datetime, timedelta


def next_on_grid(at: datetime, grid: timedelta) -> datetime:
    """Answer the instant itself where it lies on the grid, otherwise the next one that does."""
    hour = at.replace(minute=0, second=0, microsecond=0)
    steps = -((hour - at) // grid)
    return hour + steps * grid


def slots(from_at: datetime, until_at: datetime, grid: timedelta) -> tuple[datetime, ...]:
    """Answer every instant on the grid from `from_at` until before `until_at`."""
    first = next_on_grid(from_at, grid)
    count = max(0, -((first - until_at) // grid))
    return tuple(first + step * grid for step in range(count))
