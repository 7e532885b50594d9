"""What a look for facts is handed: the clock that was not kept, its unit and what surrounded it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.clock import SECOND
from server.domain.episode import Episode
from server.domain.events import Event
from server.domain.policy import Policy
from server.domain.why.attempt import Asked
from server.domain.why.moving import AWAY
from server.domain.why.surroundings import Surroundings
from server.domain.window import ENDINGS
from server.domain.wording import span, whole_minutes
from server.domain.words import ClockName, Kind
from server.domain.workload.period import Period

_SET: Final = frozenset({Kind.OBSERVED})
MEETING: Final[dict[ClockName, frozenset[Kind]]] = {
    ClockName.START: frozenset({Kind.STARTED}),
    ClockName.RETURN: AWAY,
    ClockName.FINISH: ENDINGS,
    ClockName.BASELINE_CHECK: _SET,
    ClockName.FIRST_CHECK: _SET,
    ClockName.RUNNING_CHECK: _SET,
    ClockName.REACTION_CHECK: _SET,
    ClockName.END_CHECK: _SET,
    ClockName.SET_CHANGE: frozenset({Kind.SET_HUNG, Kind.SET_CHANGED}),
    ClockName.FATE: frozenset({Kind.FATE}) | AWAY,
}
"""The kinds of facts that meet each clock; a watch is met by nothing."""
_LAPSING: Final = AWAY | ENDINGS | {Kind.STARTED, Kind.REACTION_CLOSED}


@dataclass(frozen=True, slots=True)
class Telling:
    """One clock that was not kept, with everything that may have led to it."""

    asked: Asked
    around: Surroundings

    @property
    def episode(self) -> Episode:
        """The unit as folded."""
        return self.asked.run.facts.episode

    @property
    def policy(self) -> Policy:
        """What the unit is judged by."""
        return self.asked.run.standing.policy

    @property
    def limit_at(self) -> datetime:
        """The limit that was not kept."""
        return self.asked.limit_at

    @property
    def window(self) -> Period:
        """When the act was to be done: from when on it was owed, to its limit, that included."""
        return Period(min(self._owed_from, self.limit_at), self.limit_at + SECOND)

    @property
    def _owed_from(self) -> datetime:
        clock, notice = self.asked.clock, self.policy.reminders_notice
        opens = clock.opens_at or self.limit_at
        if clock.name is ClockName.FATE:
            return clock.due_at or opens
        if clock.name in (ClockName.FINISH, ClockName.SET_CHANGE):
            return max(opens, self.limit_at - notice)
        return opens

    def time(self, at: datetime) -> str:
        """The ward's wall time; with its day from 12 h or more from the limit."""
        return self.asked.time(at)

    def stretch(self, period: Period) -> str:
        """`14:50–15:00`."""
        return f"{self.time(period.from_at)}–{self.time(period.until_at)}"

    def to_limit(self, at: datetime) -> str:
        """How much of the window an instant left: `which left 12 min to the limit`."""
        left = whole_minutes(at, self.limit_at)
        if at >= self.limit_at:
            return f"past the limit {self.time(self.limit_at)}"
        return f"which left {span(left)} to the limit {self.time(self.limit_at)}"

    @property
    def settled_by(self) -> Event | None:
        """The fact that met the clock, or that took it away; None where nothing did."""
        clock = self.asked.clock
        at = clock.lapsed_at if clock.met_at is None else clock.met_at
        kinds = _LAPSING if clock.met_at is None else MEETING[clock.name]
        found = (one for one in self.asked.events if one.happened_at == at and one.kind in kinds)
        return next(found, None)
