"""A suspected reaction: the steps of the procedure in order, and one suspicion as its facts stand.

A tool that tells people what to do first when blood harms somebody must not decide what the signs
mean: it shows the steps, takes the ticks, and never says that the unit may go on.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from server.domain.events import Event
from server.domain.payloads.reaction import RECHECK_IDENTITY
from server.domain.wording import COMPONENT
from server.domain.words import Component, Kind, Recheck

STOP: Final = "stop"
OBSERVATIONS: Final = "observations"
TELL_LABORATORY: Final = "tell_laboratory"
RETURN_BAG: Final = "return_bag"

_BCSH: Final = "BCSH 2012 (summary)"
_DIGEST: Final = "BSH 2012 (digest)"
_LIFEBLOOD: Final = "Australian Red Cross Lifeblood, monitoring page"
_EASTERN: Final = "Eastern Health, Canada, transfusion reactions page"


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its word in the log, what is done, and where that is written."""

    slug: str
    words: str
    source: str


STEPS: Final = (
    Step(STOP, "Stop: clamp the line, keep the bag", f"{_BCSH}; Lifeblood, febrile reactions page"),
    Step(
        "saline_new_set",
        "0.9 % saline through a new set keeps the vein open",
        f"{_DIGEST}; {_EASTERN}; not flushing the old set through: from memory",
    ),
    Step(
        "abc_and_call",
        "Airway, breathing, circulation; call for help",
        f"{_DIGEST}; BCSH 2012 (abstract)",
    ),
    Step(
        RECHECK_IDENTITY,
        "Identity again: the patient says it, band, bag label, form",
        f"{_BCSH}; {_DIGEST}",
    ),
    Step("inspect_bag", "Look at the bag: clumps, colour, leak, expiry", f"{_BCSH}; {_DIGEST}"),
    Step(
        OBSERVATIONS,
        "Full observations now, then each time the clock asks",
        f"{_BCSH}; {_EASTERN}",
    ),
    Step("tell_clinician", "Tell the clinician", f"{_EASTERN}; {_LIFEBLOOD}"),
    Step(TELL_LABORATORY, "Tell the transfusion laboratory", f"{_EASTERN}; {_LIFEBLOOD}"),
    Step(RETURN_BAG, "Return bag and set to the laboratory, sealed", _LIFEBLOOD),
    Step("samples", "Samples as local policy says", f"{_LIFEBLOOD}; which ones: from memory"),
    Step("document", "Document: onset, volume, signs, actions, names", "from memory"),
)
"""The steps in the order of the published procedures; a policy chooses, and may order them anew."""

STEP: Final = {step.slug: step for step in STEPS}

SYMPTOMS: Final[dict[str, str]] = {
    "fever": "fever",
    "rigors": "chills or rigors",
    "rash": "rash, itch or flushing",
    "swelling": "swelling of face or tongue",
    "breathlessness": "breathless or wheezing",
    "pain": "chest, back or loin pain",
    "pain_at_site": "pain at the cannula",
    "nausea": "nausea or vomiting",
    "faintness": "faint, dizzy or cold",
    "dark_urine": "dark or red urine",
    "bleeding": "bleeding or oozing",
    "unease": "uneasy, “something is wrong”",
}
"""What is seen or said, as it is ticked; anything else is told in words of one's own."""


@dataclass(frozen=True, slots=True)
class Ticked:
    """A step that was done: when, and by whom. `result` is what checking identity again found."""

    at: datetime
    step: str
    by: str
    event_id: str
    result: Recheck | None = None


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One suspected reaction from the first word of it until it is closed with an outcome."""

    since: datetime
    symptoms: tuple[str, ...] = ()
    ticked: tuple[Ticked, ...] = ()
    closed_at: datetime | None = None
    closed_by: str | None = None
    outcome: str | None = None
    classification: str | None = None

    def is_open_at(self, at: datetime) -> bool:
        """Whether it stood open at an instant; the instant of the closing is after it."""
        return self.since <= at and (self.closed_at is None or at < self.closed_at)

    def tick_of(self, slug: str) -> Ticked | None:
        """The first tick of a step."""
        return next((tick for tick in self.ticked if tick.step == slug), None)

    def lacks(self, slugs: Iterable[str]) -> tuple[str, ...]:
        """Those of the steps that are not ticked, in the order of the procedure."""
        wanted = set(slugs) - {tick.step for tick in self.ticked}
        return tuple(step.slug for step in STEPS if step.slug in wanted)

    @property
    def notes(self) -> tuple[Ticked, ...]:
        """What was done beside the known steps, in words of somebody's own."""
        return tuple(tick for tick in self.ticked if tick.step not in STEP)

    @property
    def identity_error(self) -> Ticked | None:
        """The tick that found the wrong unit or patient; a finding stands until it is voided."""
        return next((tick for tick in self.ticked if tick.result is Recheck.WRONG), None)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A suspected reaction with another unit of the same patient; None: not recorded, or open."""

    episode_id: str
    bed: str
    component: Component
    unit_number: str | None
    since: datetime
    closed_at: datetime | None = None

    def is_open_at(self, at: datetime) -> bool:
        """Whether it stood open at an instant."""
        return self.since <= at and (self.closed_at is None or at < self.closed_at)

    @property
    def place(self) -> str:
        """Which unit it is: bed, component and number, as far as they were recorded."""
        number = f" {self.unit_number}" if self.unit_number else ""
        return f"bed {self.bed}, {COMPONENT[self.component].lower()}{number}"

    def known_by(self, at: datetime) -> "Elsewhere":
        """The same as it was at an instant: a closing that was still to come is not known."""
        later = self.closed_at is not None and self.closed_at > at
        return replace(self, closed_at=None) if later else self


def suspect(reactions: list[Suspicion], event: Event, payload: Any) -> None:
    """Begin a suspicion, or add what is seen to the one that is open."""
    if not _is_open(reactions):
        reactions.append(Suspicion(event.happened_at))
    known = reactions[-1].symptoms
    added = tuple(name for name in dict.fromkeys(payload.symptoms) if name not in known)
    reactions[-1] = replace(reactions[-1], symptoms=known + added)


def tick_step(reactions: list[Suspicion], event: Event, payload: Any) -> bool:
    """Tick a step of the open suspicion; False if none is open."""
    if not _is_open(reactions):
        return False
    tick = Ticked(event.happened_at, payload.step, _by(event), event.id, payload.result)
    reactions[-1] = replace(reactions[-1], ticked=(*reactions[-1].ticked, tick))
    return True


def close(reactions: list[Suspicion], event: Event, payload: Any) -> bool:
    """Close the open suspicion with its outcome; False if none is open."""
    if not _is_open(reactions):
        return False
    reactions[-1] = replace(
        reactions[-1],
        closed_at=event.happened_at,
        closed_by=_by(event),
        outcome=payload.outcome,
        classification=payload.classification,
    )
    return True


def suspicions_of(events: Iterable[Event]) -> tuple[Suspicion, ...]:
    """Answer the suspicions that live events of one unit make, in bedside order."""
    reactions: list[Suspicion] = []
    apply = {
        Kind.REACTION_SUSPECTED: suspect,
        Kind.REACTION_STEP: tick_step,
        Kind.REACTION_CLOSED: close,
    }
    for event in events:
        if event.kind in apply:
            apply[event.kind](reactions, event, event.payload)
    return tuple(reactions)


def _is_open(reactions: list[Suspicion]) -> bool:
    return bool(reactions) and reactions[-1].closed_at is None


def _by(event: Event) -> str:
    return event.staff_id or event.recorded_by
