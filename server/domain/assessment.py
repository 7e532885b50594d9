"""What one set of vital signs says: its score or why there is none, a child's signs, prompts."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.baseline import baseline_of
from server.domain.centiles import ChildSigns, child_signs
from server.domain.episode import Episode
from server.domain.events import Event
from server.domain.news2 import News2, NotCalculated, news2
from server.domain.payloads import Observed
from server.domain.picture import Case
from server.domain.prompts import Prompt, prompts_for


@dataclass(frozen=True, slots=True)
class Assessment:
    """One set. `child` is None for adults; `prompts` are empty for a set from before the start."""

    event_id: str
    news2: News2 | NotCalculated
    child: ChildSigns | None
    prompts: tuple[Prompt, ...]


def assess(case: Case, episode: Episode, sets: Iterable[Event]) -> tuple[Assessment, ...]:
    """Answer what each of these sets of the patient says, in their order.

    `episode` is the case as folded. Ages count by the day of the ward.
    """
    baseline = baseline_of(episode, case.policy)
    start = episode.started_at

    def one(event: Event, observed: Observed) -> Assessment:
        on = event.happened_at.astimezone(case.zone).date()
        later = start is not None and event.happened_at >= start and event is not baseline.event
        prompts = prompts_for(observed, baseline, case.policy, case.patient, on) if later else ()
        return Assessment(
            event_id=event.id,
            news2=news2(observed, case.patient, on),
            child=child_signs(observed, case.patient, on),
            prompts=prompts,
        )

    return tuple(one(event, event.payload) for event in sets if isinstance(event.payload, Observed))
