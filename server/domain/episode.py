"""One unit for one patient, as its facts leave it."""

from dataclasses import dataclass, field
from datetime import datetime

from server.domain.events import Event
from server.domain.payloads import IdentityChecked, Inspected
from server.domain.reaction import Suspicion
from server.domain.request import Request
from server.domain.words import BloodGroup, ClockName, Confirmation, Fate, Phase


@dataclass(frozen=True, slots=True)
class Flow:
    """One change of the flow: from `at` on at `rate_ml_h`, or a reading of `given_ml`."""

    at: datetime
    rate_ml_h: float | None = None
    given_ml: float | None = None


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """Somebody said "I have it" of a clock."""

    at: datetime
    clock: ClockName
    staff_id: str


@dataclass(frozen=True, slots=True)
class Cause:
    """The cause somebody gave for a breach of a clock.

    `n` None means all of that clock whose limit had passed by `known_at`, when it was recorded.
    """

    clock: ClockName
    n: int | None
    cause: str
    text: str | None
    known_at: datetime

    def explains(self, clock: ClockName, n: int, limit_at: datetime) -> bool:
        """Whether it was given for this breach."""
        if self.clock is not clock:
            return False
        return limit_at <= self.known_at if self.n is None else self.n == n


@dataclass(frozen=True, slots=True)
class Assignment:
    """From `at` on a nurse has the unit; None: nobody."""

    at: datetime
    nurse_id: str | None


@dataclass(frozen=True, slots=True)
class LinkedWarning:
    """An identity error found with another patient may concern this unit, until it is checked.

    `bed` and `unit_number` say where it was found; `event_id` is the warning in the log.
    """

    at: datetime
    event_id: str
    episode_id: str
    bed: str
    unit_number: str | None
    checked_at: datetime | None = None


@dataclass(slots=True)
class Episode:
    """One unit for one patient as the facts leave it. Instants are UTC, None: not yet.

    `revision` is the place in the log of its latest fact: it grows with every fact, corrections
    included, and is 0 while there is none. `drops_per_ml` is said of the set that was `hung` last.
    """

    request: Request
    phase: Phase = Phase.REQUESTED
    revision: int = 0
    nurse_id: str | None = None
    volume_ml: float | None = None
    unit_number: str | None = None
    product_code: str | None = None
    division: str | None = None
    blood_group: BloodGroup | None = None
    attributes: tuple[str, ...] = ()
    expires_at: datetime | None = None
    available_at: datetime | None = None
    issued_at: datetime | None = None
    removed_at: datetime | None = None
    received_at: datetime | None = None
    inspected_at: datetime | None = None
    inspection: Inspected | None = None
    identity_at: datetime | None = None
    identity: IdentityChecked | None = None
    spiked_at: datetime | None = None
    started_at: datetime | None = None
    override_reason: str | None = None
    ended_at: datetime | None = None
    stopped_reason: str | None = None
    moved_at: datetime | None = None
    fate: Fate | None = None
    fate_at: datetime | None = None
    reactions: list[Suspicion] = field(default_factory=list)
    warnings: list[LinkedWarning] = field(default_factory=list)
    confirmed: dict[Confirmation, Event] = field(default_factory=dict)
    hung: list[datetime] = field(default_factory=list)
    drops_per_ml: int | None = None
    flow: list[Flow] = field(default_factory=list)
    observations: list[Event] = field(default_factory=list)
    acknowledgements: list[Acknowledgement] = field(default_factory=list)
    causes: list[Cause] = field(default_factory=list)
    assignments: list[Assignment] = field(default_factory=list)

    def nurse_at(self, instant: datetime | None) -> str | None:
        """Who had the unit at an instant; None for the instant: who has it after all facts."""
        if instant is None:
            return self.nurse_id
        for given in reversed(self.assignments):
            if given.at <= instant:
                return given.nurse_id
        return self.request.nurse_id

    @property
    def reaction(self) -> Suspicion | None:
        """The suspected reaction that is open."""
        last = self.reactions[-1] if self.reactions else None
        return last if last is not None and last.closed_at is None else None

    @property
    def reaction_at(self) -> datetime | None:
        """Since when a suspected reaction is open."""
        return None if self.reaction is None else self.reaction.since

    @property
    def open_warnings(self) -> list[LinkedWarning]:
        """The warnings that nobody has checked."""
        return [warning for warning in self.warnings if warning.checked_at is None]
