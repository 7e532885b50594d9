"""A list of three costs as many queries as a list of one."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import current_thread
from typing import Any, Final

import pytest
from sqlalchemy import event

from tests.api.board_api import NOON, BoardApi

LISTS: Final[dict[str, dict[str, Any]]] = {
    "/api/board": {"ward_id": "w1"},
    "/api/due": {"ward_id": "w1"},
    "/api/breaches": {"ward_id": "w1"},
    "/api/reminders": {"ward_id": "w1"},
    "/api/orders": {"ward_id": "w1"},
    "/api/staff": {"ward_id": "w1"},
    "/api/shifts": {
        "ward_id": "w1",
        "from": NOON.replace(hour=0),
        "to": NOON.replace(hour=23),
    },
    "/api/patients/search": {"text": "Alder"},
    "/api/wards": {},
}


@contextmanager
def counted(api: BoardApi) -> Iterator[list[str]]:
    """The statements that requests read meanwhile."""
    statements: list[str] = []

    def note(_: Any, __: Any, statement: str, *___: Any) -> None:
        if current_thread().name != "feed":  # it looks for changes at its own pace
            statements.append(statement)

    event.listen(api.store.engines.reading, "before_cursor_execute", note)
    yield statements
    event.remove(api.store.engines.reading, "before_cursor_execute", note)


def fill(api: BoardApi, number: int) -> None:
    """One more of everything that is listed."""
    if number > 1:
        api.ward(f"w{number}")
    api.episode(f"{number}")
    api.record(f"e{number}", "issued", NOON.replace(hour=10))
    unit = {"patient_id": f"p{number}", "ward_id": "w1", "bed": "1", "component": "plasma"}
    api.made("/api/orders", {**unit, "units": number, "urgency": "urgent"})
    nurse = {"id": f"n{number}", "name": f"N{number}", "role": "bedside_nurse", "wards": ["w1"]}
    api.made("/api/staff", nurse, "administrator")
    starts_at, ends_at = NOON.replace(hour=8), NOON.replace(hour=16)
    pauses = [{"starts_at": NOON, "ends_at": NOON.replace(minute=30)}]
    shift = {"staff_id": f"n{number}", "ward_id": "w1", "starts_at": starts_at}
    api.made("/api/shifts", {**shift, "ends_at": ends_at, "breaks": pauses}, "charge_nurse")
    api.record(f"e{number}", "assigned", NOON, nurse_id=f"n{number}")


def length(answer: Any) -> int:
    """How many things were listed."""
    said = answer.json()
    return len(said["rows"] if isinstance(said, dict) else said)


def look(api: BoardApi, path: str) -> Any:
    """Ask for a list; who is looked for stands in a body."""
    wanted = LISTS[path]
    return api.post(path, wanted) if path.endswith("/search") else api.get(path, **wanted)


@pytest.mark.parametrize("path", LISTS)
def test_the_number_of_queries_does_not_grow_with_the_list(api: BoardApi, path: str) -> None:
    api.ward()
    fill(api, 1)
    with counted(api) as one:
        first = length(look(api, path))
    fill(api, 2)
    fill(api, 3)
    with counted(api) as three:
        last = length(look(api, path))

    assert last > first >= 1
    assert len(three) == len(one), [query for query in three if query not in one]
