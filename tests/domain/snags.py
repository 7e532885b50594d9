"""What does not work out on an invented ward, as values and in words."""

from collections.abc import Iterable
from datetime import UTC
from typing import Any

from server.domain.workload.capacity import Capacity, OnDuty, WardRules
from server.domain.workload.find import find_snags
from server.domain.workload.finding import WorkFinding
from server.domain.workload.task import Task
from server.domain.workload.wording import finding_words
from tests.domain.builders import at
from tests.domain.working import period, shift

NAMES = {"nurse-1": "Nia Cole", "nurse-2": "Bo Lund"}
PEOPLE = (shift("nurse-1"), shift("nurse-2"), shift("nurse-3"))
EIGHT_HOURS = period(0, 480)


def found(
    tasks: Iterable[Task], people: tuple[OnDuty, ...] = PEOPLE, **kept: Any
) -> tuple[WorkFinding, ...]:
    rules = WardRules(**kept.pop("rules", {}))
    capacity = Capacity("ward-1", at(), people, rules)
    return find_snags(tasks, capacity, kept.pop("within", EIGHT_HOURS), **kept)


def words(*args: Any, **kept: Any) -> list[str]:
    return [finding_words(one, NAMES, UTC) for one in found(*args, **kept)]
