"""The best comfort of a model of rows: close to its bound first, in windows that widen."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

from server.planning.aside import Aside
from server.planning.budget import LONG_ROWS, Budget
from server.planning.core import Schedule
from server.planning.relaxation import Relaxed
from server.planning.values import Answer, Level, Sum

# How far above its bound comfort is looked for at first, in its minutes.
_CLOSE: Final = 5
# Of what is left, for one window.
_SHARE: Final = 0.5


@dataclass(frozen=True, slots=True)
class Window:
    """What comfort comes to at most, and at least where it did not lie in the window before."""

    least: int
    most: int


class Close:
    """The search of a model whose relaxation is known; `least` is what comfort is proven to be."""

    def __init__(
        self, schedule: Schedule, comfort: Sum, relaxed: Relaxed, budget: Budget, least: int
    ) -> None:
        """Begin at what is proven already."""
        self._schedule, self._comfort = schedule, comfort
        self._relaxed, self._budget = relaxed, budget
        self.least = least

    def search(self, most: int, *, is_ahead: bool) -> Answer:
        """Search window by window until a plan is found or time is over.

        `is_ahead`: while one is searched, the next is searched beside it, as if it were empty.
        """
        windows = self._windows(most)
        while True:
            window, wider = next(windows), next(windows, None) if is_ahead else None
            answer = self._one(window) if wider is None else self._two(window, wider)
            if not answer.is_infeasible or (wider or window).most == most:
                return answer

    def _one(self, window: Window) -> Answer:
        return self._learnt(window, self._in(window, self._budget))

    def _two(self, window: Window, wider: Window) -> Answer:
        """Search two at once; where nothing is found in one, the wider one, of which it is part."""
        with Aside(self._budget, partial(self._in, wider)) as beside:
            answer = self._one(window)
            return answer if answer.values else self._learnt(wider, beside.answer())

    def _in(self, window: Window, budget: Budget) -> Answer:
        """Search one window, with nothing in the model that is dearer."""
        within = self._schedule.copy()
        for variable in within.variables:
            if not self._relaxed.within(variable, window.most):
                within.shut(variable)
        within.model.add(self._comfort <= window.most)
        within.minimise(Level("comfort", self._comfort, window.least))
        return budget.solve(within, _SHARE, LONG_ROWS)

    def _learnt(self, window: Window, answer: Answer) -> Answer:
        """Raise what is proven.

        That there is no plan up to the end of a window always holds, as nothing before it is left
        out; how far plans of it come at least counts only where nothing lies before it.
        """
        if answer.is_infeasible or window.least <= self.least:
            bound = window.most + 1 if answer.is_infeasible else answer.levels[-1].bound or 0
            self.least = max(self.least, self._relaxed.reached(bound))
        return answer

    def _windows(self, most: int) -> Iterator[Window]:
        """Each twice as wide as the one before."""
        close, window = _CLOSE, Window(self.least, min(most, self.least + _CLOSE))
        yield window
        while window.most < most:
            close, least = 2 * close, self._relaxed.reached(window.most + 1)
            window = Window(least, min(most, least + close))
            yield window
