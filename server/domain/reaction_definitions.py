"""Which published definitions of a reaction a record meets. Retrospective: for the reviewer.

Every instant after the start is put to every definition, and the strongest answer of each stands:
met before not to be said before not met, and a graver grade before a milder one. Where the record
lacks what a definition looks at, that is the answer. Nothing here is ever shown as a reason to act
or not to act at the bedside.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.baseline import baseline_of
from server.domain.definition import (
    Charted,
    Definition,
    Finding,
    Verdict,
    cannot_say,
)
from server.domain.definitions_allergic import ALLERGIC
from server.domain.definitions_fever import FEBRILE
from server.domain.definitions_haemolysis import HAEMOLYTIC
from server.domain.definitions_lungs import LUNGS
from server.domain.definitions_pressure import HYPOTENSIVE
from server.domain.episode import Episode
from server.domain.events import Event, sorted_live
from server.domain.payloads import Observed, ReactionSuspected
from server.domain.picture import Case
from server.domain.reaction_signs import signs_of

DEFINITIONS: Final[tuple[Definition, ...]] = (
    *FEBRILE,
    *ALLERGIC,
    *HYPOTENSIVE,
    *LUNGS,
    *HAEMOLYTIC,
)
SECONDS: Final = 3600
_STRENGTH: Final = (Verdict.NOT_MET, Verdict.CANNOT_SAY, Verdict.MET)


@dataclass(frozen=True, slots=True)
class Classified:
    """What one definition says of a record; `at` is the instant it speaks of, None of none.

    `instants` is how many of the record it could judge.
    """

    definition: Definition
    finding: Finding
    at: datetime | None
    instants: int


def classify(charted: Iterable[tuple[datetime, Charted]]) -> tuple[Classified, ...]:
    """Put every instant to every definition, in the order of `DEFINITIONS`."""
    listed = list(charted)
    return tuple(_strongest(definition, listed) for definition in DEFINITIONS)


def _strongest(definition: Definition, listed: list[tuple[datetime, Charted]]) -> Classified:
    found = [
        (finding, at) for at, charted in listed if (finding := definition.look(charted)) is not None
    ]
    if not found:
        return Classified(definition, cannot_say("nothing that it looks at was charted"), None, 0)

    def strength(one: tuple[Finding, datetime]) -> tuple[int, int]:
        grade, grades = one[0].grade, definition.grades
        return _STRENGTH.index(one[0].verdict), grades.index(grade) if grade in grades else -1

    finding, at = max(found, key=strength)  # of equals the first
    return Classified(definition, finding, at, len(found))


def charted_in(case: Case, episode: Episode) -> tuple[tuple[datetime, Charted], ...]:
    """Answer what a record says after the start, instant by instant; nothing before it.

    Symptoms come from sets of signs and from what was said when a reaction was suspected.
    """
    return tuple(_charted(case, episode))


def _charted(case: Case, episode: Episode) -> Iterator[tuple[datetime, Charted]]:
    start, baseline = episode.started_at, baseline_of(episode, case.policy)
    if start is None:
        return
    age = case.patient.age_years(start.astimezone(case.zone).date())
    before = {name: one.value for name, one in baseline.signs.items()}
    for event in sorted_live(case.events):
        symptoms = _symptoms(event)
        if event.happened_at < start or symptoms is None or event is baseline.event:
            continue
        yield (
            event.happened_at,
            Charted(
                baseline=before,
                later=event.payload if isinstance(event.payload, Observed) else None,
                hours_after_end=_hours_after(episode.ended_at, event.happened_at),
                age_years=age,
                weight_kg=case.patient.weight_kg,
                signs=signs_of(set(symptoms) - baseline.symptoms),
            ),
        )


def _symptoms(event: Event) -> tuple[str, ...] | None:
    """The symptoms that an event tells of, None for an event that tells of none."""
    if isinstance(event.payload, Observed | ReactionSuspected):
        return event.payload.symptoms
    return None


def _hours_after(ended: datetime | None, at: datetime) -> float:
    return 0.0 if ended is None else max(0.0, (at - ended).total_seconds() / SECONDS)
