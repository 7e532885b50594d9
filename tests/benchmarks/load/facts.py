"""What is recorded under load: the rest of each unit's story, told now, as bodies to be posted."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from server.domain.encoding import encode
from server.domain.payloads import Available, Note, Payload, RateSet, VolumeRead
from tests.benchmarks.load.posts import INSTANT
from tests.benchmarks.records import Unit
from tests.benchmarks.stories import FULL, ISSUED, KIND_OF, RUNNING, Story

STARTED_AT: Final = 13
"""The minute of a story in which the unit is started."""

# Of four facts about a unit that runs two are sets of signs: what nurses record most.
WHILE_IT_RUNS: Final = (FULL, VolumeRead(given_ml=200), FULL, RateSet(rate_ml_h=105))
AFTERWARDS: Final = (FULL, Note(text="comfortable"))


@dataclass(frozen=True, slots=True)
class Script:
    """The facts of one unit in their order: `first` once, then `again` and again, as JSON.

    Each has `INSTANT` in place of the moment at which it is posted.
    """

    ward_id: str
    episode_id: str
    first: tuple[str, ...]
    again: tuple[str, ...]


def script_of(unit: Unit) -> Script:
    """What is still to be told of a unit."""
    minutes = None if not unit.story or unit.until is None else _minutes(unit.until - unit.begun)
    first = _before_the_start(minutes)
    again = WHILE_IT_RUNS if minutes is None or minutes < len_of(unit.story) else AFTERWARDS
    return Script(unit.ward_id, unit.id, _bodies(first), _bodies(again))


def len_of(story: Story) -> int:
    """The minute at which a unit of this story has ended."""
    ends = [minute for minute, payload in story if KIND_OF[type(payload)] == "completed"]
    return min(ends, default=10**6)


def _before_the_start(minutes: int | None) -> tuple[Payload, ...]:
    """What leads up to the start, as far as it is not told; `minutes` None: nothing is."""
    if minutes is None:
        return (Available(), *(payload for _, payload in _UP_TO_START))
    return tuple(payload for minute, payload in _UP_TO_START if minute > minutes)


_UP_TO_START: Final[Story] = [*ISSUED, *(one for one in RUNNING[5:] if one[0] <= STARTED_AT)]


def _bodies(payloads: Sequence[Payload]) -> tuple[str, ...]:
    return tuple(json.dumps(_body(payload)) for payload in payloads)


def _body(payload: Payload) -> dict[str, Any]:
    fact = {"kind": KIND_OF[type(payload)].value, "happened_at": INSTANT}
    return fact | {name: value for name, value in encode(payload).items() if value != []}


def _minutes(elapsed: timedelta) -> int:
    return int(elapsed.total_seconds() // 60)
