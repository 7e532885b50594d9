"""Which units were warned of an identity error that was found with one unit."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.fold import fold
from server.domain.urgency import natural
from server.domain.words import Component
from server.services.actor import Actor
from server.services.permissions import Act, require
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.board import live_episode_ids
from server.store.sessions import ReadSession


@dataclass(frozen=True, slots=True)
class LinkedUnit:
    """A unit that was warned of; `checked_at` None: nobody has checked it yet."""

    episode_id: str
    bed: str
    component: Component
    unit_number: str | None
    checked_at: datetime | None


def read_linked(
    session: ReadSession, actor: Actor, ward_id: str, episode_id: str, *, now: datetime
) -> tuple[LinkedUnit, ...]:
    """Answer the ward's units that carry a warning of `episode_id`, by bed. Raises `Forbidden`."""
    require(actor, Act.READ, ward_id)
    near = sound_cases(session, live_episode_ids(session, ward_id, now), now=now)
    episodes = follow_soundly(near.cases.values(), lambda one: fold(one.request, one.events))
    found = [
        LinkedUnit(
            episode.request.id,
            episode.request.bed,
            episode.request.component,
            episode.unit_number,
            warning.checked_at,
        )
        for episode in episodes.values()
        for warning in episode.warnings
        if warning.episode_id == episode_id
    ]
    return tuple(sorted(found, key=lambda unit: (natural(unit.bed), unit.episode_id)))
