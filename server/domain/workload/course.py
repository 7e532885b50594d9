"""How one unit is expected to go on from now: when it is checked, started and in.

A unit that is issued and not started goes on as if started as soon as it can be; a running one to
its projected end, and never past its finish limit, by which it has to be down. What is not known
is not guessed.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.clocks_unit import finish_limit_at
from server.domain.episode import Episode
from server.domain.expected_run import end_of_run, started_at
from server.domain.facts import Facts
from server.domain.picture import Picture
from server.domain.plan.problem import Terms
from server.domain.words import ClockName, Phase
from server.domain.workload.projection import NotKnown

_NONE: Final = timedelta(0)


@dataclass(frozen=True, slots=True)
class Course:
    """One unit as it is expected to go on. `facts` hold the expected start and end.

    `check_at` is when the check before an outstanding start is expected, `slack` by how much that
    and all after it may come later. `end_at` is the expected end, None: over already or not known.
    """

    facts: Facts
    now: datetime
    check_at: datetime | None = None
    slack: timedelta = _NONE
    end_at: datetime | None = None


def why_not_started(picture: Picture) -> NotKnown | None:
    """Answer why nobody can say when an issued unit will be started."""
    standing, limit = picture.standing, picture.standing.finish_limit_at
    if picture.episode.phase is not Phase.ISSUED:
        return None
    if standing.held_by is not None:
        return NotKnown.REACTION
    if picture.episode.open_warnings:
        return NotKnown.WARNED
    return NotKnown.PAST_LIMIT if limit is not None and limit <= standing.now else None


def why_no_end(course: Course) -> NotKnown | None:
    """Answer why nobody can say when a unit will be in."""
    episode = course.facts.episode
    if episode.ended_at is not None:
        return None
    if episode.reaction is not None:
        return NotKnown.REACTION
    if episode.phase is Phase.PAUSED:
        return NotKnown.PAUSED
    return NotKnown.NO_VOLUME if episode.volume_ml is None else NotKnown.NO_RATE


def course_of(picture: Picture, terms: Terms) -> Course | None:
    """Answer how a unit is expected to go on, None for one in storage or sent back.

    A suspicion goes on also where the unit was never started, or was sent back.
    """
    episode = picture.episode
    if episode.phase is Phase.ISSUED:
        return _issued(picture, terms)
    goes_on = episode.started_at is not None or episode.reaction is not None
    return course_of_started(picture) if goes_on else None


def course_of_started(picture: Picture) -> Course:
    """Answer how a unit that is started is expected to go on; one that has ended stays ended."""
    episode, now = picture.episode, picture.standing.now
    course = Course(picture.case.facts_of(episode), now)
    if episode.ended_at is not None or episode.reaction is not None:
        return course
    return _ending(course, picture.infusion.projected_end_at, now)


def _issued(picture: Picture, terms: Terms) -> Course:
    """A unit on its way is expected after what the way takes; one on the ward at once.

    A check that is under way is expected whole from now on: no fact says when one was begun. An
    inspection and an identity check are recorded as of when they were done, and what follows them
    need not follow at once. The second person is no longer asked for once the check is recorded.
    """
    episode, now = picture.episode, picture.standing.now
    on_its_way = episode.received_at is None and episode.removed_at is not None
    left_at = episode.removed_at if on_its_way else None
    check_at = now if left_at is None else max(now, left_at + terms.carried)
    start = check_at + terms.check
    facts = picture.case.facts_of(started_at(picture.standing, start))
    end = end_of_run(picture.standing, start)
    latest = [clock.limit_at for clock, _ in picture.clocks if clock.name is ClockName.START]
    spare = [limit - start for limit in latest if limit is not None]
    limit = finish_limit_at(facts)
    if end is not None and limit is not None:
        spare.append(limit - end)
    slack = max(_NONE, min(spare, default=_NONE))
    return _ending(Course(facts, now, check_at, slack), end, start)


def _ending(course: Course, projected: datetime | None, earliest: datetime) -> Course:
    """The same with its end, where one can be told: by the finish limit at the latest."""
    if projected is None:
        return course
    limit = finish_limit_at(course.facts)
    end = max(earliest, projected if limit is None else min(projected, limit))
    ended: Episode = replace(course.facts.episode, ended_at=end)
    return replace(course, facts=replace(course.facts, episode=ended), end_at=end)
