"""Facts on their way, and the units that they are about."""

from collections import deque
from typing import Any, Final

INSTANT: Final = "%INSTANT%"
"""Stands in each fact for the moment at which it is posted."""


class Post:
    """A fact on its way. Times are those of this process; it was wanted at `wanted`."""

    __slots__ = ("answered", "needle", "seen", "unit", "wanted")

    def __init__(self, unit: "Unit", wanted: float) -> None:
        self.unit = unit
        self.wanted = wanted
        self.needle = f'"#row-{unit.id}"'.encode()
        self.answered: float | None = None
        self.seen: dict[int, float] = {}


class Unit:
    """A unit and what there is to tell of it."""

    def __init__(self, script: dict[str, Any]) -> None:
        self.id: Final[str] = script["episode_id"]
        self.ward: Final[str] = script["ward_id"]
        self._first = deque(script["first"])
        self._again = deque(script["again"])

    def fact(self) -> str:
        """The next fact."""
        if self._first:
            return str(self._first.popleft())
        self._again.rotate(-1)
        return str(self._again[-1])
