"""How an episode stands at one instant: its clocks with their states, and its flow."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

from server.domain.clock import OWED, Clock
from server.domain.episode import Episode
from server.domain.infusion import Infusion
from server.domain.plan.planned import Planned
from server.domain.policy import Policy
from server.domain.reaction import Elsewhere
from server.domain.unit_check import Around
from server.domain.words import ClockName, ClockState, Phase


@dataclass(slots=True)
class Standing:
    """Everything that urgency, advice and reasons look at.

    `rate_rule` names where the ceiling of the rate comes from, `zone` is the ward's time zone.
    `held_by` is a reaction suspected with another unit of the patient, the earliest that is open.
    `planned` is what the accepted plan says, None for a unit that is started.
    """

    episode: Episode
    policy: Policy
    clocks: tuple[tuple[Clock, ClockState], ...]
    infusion: Infusion
    finish_limit_at: datetime | None
    rate_rule: str
    now: datetime
    zone: tzinfo
    around: Around
    held_by: Elsewhere | None = None
    planned: Planned | None = None

    def in_state(self, state: ClockState) -> list[Clock]:
        """The clocks that stand in `state`, in the order of the pathway."""
        return [clock for clock, is_in in self.clocks if is_in is state]

    def falling_due(self) -> list[Clock]:
        """The owed clocks that fall due within the notice of the policy."""
        until = self.now + self.policy.reminders_notice
        return [
            clock
            for clock, state in self.clocks
            if clock.due_at is not None and self.now < clock.due_at <= until and state in OWED
        ]

    @property
    def next_clock(self) -> Clock | None:
        """The owed clock that falls due first; watching for late signs is no task."""
        owed = [
            (clock.due_at or clock.limit_at, place, clock)
            for place, (clock, state) in enumerate(self.clocks)
            if state in OWED and clock.name is not ClockName.LATE_WATCH
        ]
        dated = [(at, place, clock) for at, place, clock in owed if at is not None]
        return min(dated)[2] if dated else None

    @property
    def is_at_risk(self) -> bool:
        """Whether the unit will miss its finish limit as things stand."""
        if self.finish_limit_at is None:
            return False
        infusion, phase = self.infusion, self.episode.phase
        if phase is Phase.ISSUED:
            latest = infusion.latest_start_at
            return latest is not None and max(self.now, self._planned_start) > latest
        if phase not in (Phase.RUNNING, Phase.PAUSED):
            return False
        end = infusion.projected_end_at
        return infusion.cannot_finish or (end is not None and end > self.finish_limit_at)

    @property
    def _planned_start(self) -> datetime:
        return self.now if self.planned is None else self.planned.start_at
