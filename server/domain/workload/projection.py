"""What a projection answers: the tasks ahead of units, and what is not known and so left out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from itertools import chain
from typing import Final

from server.domain.workload.task import Task, Work

_ON_ITS_WAY: Final = {work: place for place, work in enumerate(Work)}


class NotKnown(StrEnum):
    """Why part of the work ahead of a unit cannot be projected."""

    REACTION = "reaction"
    WARNED = "warned"
    PAST_LIMIT = "past_limit"
    PAUSED = "paused"
    NO_VOLUME = "no_volume"
    NO_RATE = "no_rate"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """The kinds of work of one unit that are not projected, and why."""

    episode_id: str
    bed: str
    why: NotKnown
    works: tuple[Work, ...]


@dataclass(frozen=True, slots=True)
class Projection:
    """Tasks in the order of their instants, and what was left out, in the order of the units."""

    tasks: tuple[Task, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def together(projections: Iterable[Projection]) -> Projection:
    """Answer the projections of several units as one."""
    listed = tuple(projections)
    tasks = chain.from_iterable(one.tasks for one in listed)
    left_out = chain.from_iterable(one.left_out for one in listed)
    return Projection(in_order(tasks), tuple(left_out))


def in_order(tasks: Iterable[Task]) -> tuple[Task, ...]:
    """Answer tasks by instant, then unit, then kind: always the same order."""
    return tuple(sorted(tasks, key=_place))


def _place(task: Task) -> tuple[datetime, str, int, int]:
    return (task.at, task.episode_id, _ON_ITS_WAY[task.work], task.n)
