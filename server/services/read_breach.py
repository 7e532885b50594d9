"""One limit that was not kept: what it was, what was shown and said then, and what came late."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.breach_course import Course, course_of
from server.domain.breaches import Breach
from server.domain.clock import BREACHED, SECOND, Clock
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState
from server.services.actor import Actor
from server.services.errors import NotFound
from server.services.read_episode import EpisodeRead, read_episode
from server.store.deliveries import Sending, sendings_of
from server.store.reminders import RaisedReminder, reminders_of_episodes
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.transitions import Transition, transitions_of


@dataclass(frozen=True, slots=True)
class BreachRead:
    """A limit as it is known now and as it was known then.

    `breach` is None where a late entry told that it was kept after all. `then` is how the unit
    stood at `passed_at`, the second after the limit, as it was known then; None where it was not.
    `sent` are the messages to webhooks by reminder id. `names` maps staff ids to names.
    """

    read: EpisodeRead
    clock: Clock
    state: ClockState
    breach: Breach | None
    passed_at: datetime
    then: Picture | None
    course: Course
    crossed: tuple[Transition, ...]
    raised: tuple[RaisedReminder, ...]
    sent: Mapping[str, tuple[Sending, ...]]
    names: Mapping[str, str]


def read_breach(
    session: ReadSession,
    actor: Actor,
    episode_id: str,
    clock: ClockName,
    n: int,
    *,
    now: datetime,
) -> BreachRead:
    """Answer one limit of a unit that is or was shown as passed. Raises `NotFound`, `Forbidden`."""
    read = read_episode(session, actor, episode_id, now=now)
    pairs = {(one.name, one.n): (one, state) for one, state in read.picture.clocks}
    its = [one for one in transitions_of(session, episode_id) if (one.clock, one.n) == (clock, n)]
    found, state = pairs.get((clock, n), (None, None))
    breach = _breach(read.picture, clock, n)
    if found is None or state is None or found.limit_at is None:
        raise NotFound("the limit")
    if breach is None and not any(one.to_state in BREACHED for one in its):
        raise NotFound("a breach of this limit")
    raised = reminders_of_episodes(session, [episode_id]).get(episode_id, ())
    told = tuple(one for one in raised if (one.clock, one.n) == (clock, n))
    passed_at = found.limit_at + SECOND
    return BreachRead(
        read=read,
        clock=found,
        state=state,
        breach=breach,
        passed_at=passed_at,
        then=_then(session, actor, episode_id, passed_at, now),
        course=course_of(read.picture.case, clock, n, now),
        crossed=tuple(its),
        raised=told,
        sent=sendings_of(session, read.ward.id, told),
        names={**read.names, **staff_names(session, _people(told))},
    )


def _breach(looked: Picture, clock: ClockName, n: int) -> Breach | None:
    return next((one for one in looked.breaches if (one.clock, one.n) == (clock, n)), None)


def _then(
    session: ReadSession, actor: Actor, episode_id: str, instant: datetime, now: datetime
) -> Picture | None:
    try:
        read = read_episode(session, actor, episode_id, now=now, at=instant, known_at=instant)
    except NotFound:
        return None  # it was asked for on paper, and typed in afterwards
    return read.picture


def _people(raised: Sequence[RaisedReminder]) -> Iterable[str]:
    return {who for one in raised for who in (one.to, one.acknowledged_by) if who is not None}
