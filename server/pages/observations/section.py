"""Everything about vital signs on the page of a unit."""

from dataclasses import dataclass

from server.pages.episodes.sentences import Speech
from server.pages.observations.classified import ClassifiedView, classified_view
from server.pages.observations.set_view import SetView, set_view
from server.pages.observations.trend import TrendView, trend_view
from server.services.actor import Actor
from server.services.read_episode import EpisodeRead


@dataclass(frozen=True, slots=True)
class ObservationsView:
    """`recorded` are the sets of a moment ago, `latest` the last one, `trend` all of them."""

    recorded: tuple[SetView, ...]
    latest: SetView | None
    trend: TrendView | None
    classified: ClassifiedView | None

    @property
    def prompted(self) -> bool:
        """Whether a set of a moment ago asks to pause and assess."""
        return any(one.prompts for one in self.recorded)

    @property
    def asking(self) -> SetView | None:
        """The last set, where it asks to pause and assess and is not said at the head already."""
        unsaid = self.latest is not None and bool(self.latest.prompts) and not self.recorded
        return self.latest if unsaid else None


def observations_view(
    read: EpisodeRead, actor: Actor, speech: Speech, recorded: tuple[str, ...]
) -> ObservationsView:
    """Answer what is shown; `recorded` are the ids of what was stored a moment ago."""
    policy = read.picture.case.policy
    sets = tuple(zip(read.observations, read.assessments, strict=True))
    return ObservationsView(
        recorded=tuple(set_view(*one, policy, speech) for one in sets if one[0].id in recorded),
        latest=set_view(*sets[-1], policy, speech) if sets else None,
        trend=trend_view(read, speech),
        classified=classified_view(actor, read, speech),
    )
