"""What the simulated nurses see, and what they may decide to do."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Final

from seed_demo import chance
from seed_demo.rota import Duty, Shift
from seed_demo.staff import BLOOD_BANK
from server.domain.clock import OWED, Clock
from server.domain.episode import Episode
from server.domain.events import Event, sorted_live
from server.domain.observations import full_set_instants
from server.domain.payloads import Payload
from server.domain.picture import Picture
from server.domain.words import ClockName, Kind, Phase

IN_HAND: Final = frozenset({Phase.ISSUED, Phase.RUNNING, Phase.PAUSED})
"""Phases in which a unit counts towards what a nurse has in hand."""

NOT_HERE: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})
DONE: Final = frozenset({Phase.CLOSED, Phase.RETURNED, Phase.DISCARDED, Phase.CANCELLED})


@dataclass(frozen=True, slots=True)
class Wish:
    """Something that wants doing with a unit from `ready_at` on; `by` None: by whoever has it."""

    ready_at: datetime
    payload: Payload
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Deed:
    """Something that somebody does now."""

    episode_id: str
    patient_id: str
    by: str
    payload: Payload


@dataclass(frozen=True)
class Look:
    """One unit, as the one who decides looks at it."""

    picture: Picture
    now: datetime
    seed: int
    shift: Shift

    @property
    def id(self) -> str:
        """The episode's."""
        return self.picture.case.request.id

    @property
    def patient_id(self) -> str:
        """The patient's."""
        return self.picture.case.patient.id

    @property
    def episode(self) -> Episode:
        """The unit as folded."""
        return self.picture.episode

    @property
    def duty(self) -> Duty | None:
        """The duty of whoever has the unit, None if nobody on this shift has it."""
        return self.shift.duty_of(self.episode.nurse_id)

    @cached_property
    def live(self) -> tuple[Event, ...]:
        """The facts that count, in order."""
        return tuple(sorted_live(self.picture.case.events))

    @cached_property
    def sets(self) -> list[datetime]:
        """When each full set of signs was taken."""
        required = self.picture.case.policy.observations_required
        return full_set_instants(self.episode.observations, required)

    def lag(self, label: str, low: float, high: float) -> timedelta:
        """How long this step takes with this unit, in minutes from `low` to `high`."""
        return chance.minutes(low, high, self.seed, self.id, label)

    def happens(self, odds: float, label: str) -> bool:
        """Whether something of these odds happens with this unit."""
        return chance.happens(odds, self.seed, self.id, label)

    def last(self, kind: Kind) -> datetime | None:
        """When something of this kind last happened to the unit, None if never."""
        return max((event.happened_at for event in self.live if event.kind is kind), default=None)

    def owed(self, name: ClockName) -> Clock | None:
        """The clock of this name that is still owed."""
        clocks = self.picture.clocks
        return next(
            (clock for clock, is_in in clocks if clock.name is name and is_in in OWED), None
        )


@dataclass(frozen=True)
class Scene:
    """The whole ward at `now`. `looks` stand in the board's order, most urgent first.

    `left_alone` are the episodes that nobody here touches now, because somebody else does. With
    `follows_plan` units are called as the accepted plan says, otherwise first come first served.
    """

    now: datetime
    seed: int
    shift: Shift
    looks: tuple[Look, ...]
    left_alone: frozenset[str]
    follows_plan: bool = False

    def is_here(self, key: str) -> bool:
        """Whether somebody can act now; the blood bank always can."""
        duty = self.shift.duty_of(key)
        return key == BLOOD_BANK.id or (duty is not None and duty.is_free(self.now))

    @property
    def touchable(self) -> tuple[Look, ...]:
        """The units that nobody else is busy with."""
        return tuple(look for look in self.looks if look.id not in self.left_alone)

    @cached_property
    def waiting(self) -> tuple[Look, ...]:
        """The units that were not handed over yet."""
        return tuple(look for look in self.looks if look.episode.phase in NOT_HERE)

    @property
    def may_come(self) -> int:
        """For how many patients a unit waits while they have none in hand."""
        busy = {look.patient_id for look in self.looks if look.episode.phase in IN_HAND}
        return len({look.patient_id for look in self.waiting} - busy)

    @cached_property
    def last_deeds(self) -> dict[str, datetime]:
        """When each person last recorded something."""
        found: dict[str, datetime] = {}
        for look in self.looks:
            for event in look.picture.case.events:
                if event.recorded_at > found.get(event.recorded_by, event.recorded_at - _EVER):
                    found[event.recorded_by] = event.recorded_at
        return found


_EVER: Final = timedelta(seconds=1)


def scene_of(
    pictures: tuple[Picture, ...],
    *,
    now: datetime,
    seed: int,
    shift: Shift,
    left_alone: frozenset[str] = frozenset(),
    follows_plan: bool = False,
) -> Scene:
    """Put together what is seen at `now`; `pictures` stand in the board's order."""
    looks = tuple(Look(one, now, seed, shift) for one in pictures)
    return Scene(now, seed, shift, looks, left_alone, follows_plan)
