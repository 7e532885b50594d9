"""The load of reminders as JSON: whole, by whole numbers, and a period that cannot be refused."""

from datetime import timedelta
from typing import Any, Final

from server.services.tick import tick
from tests.api.board_api import NOON, BoardApi, problem_of

PATH: Final = "/api/reminders/load"
NOTHING: Final = dict.fromkeys(
    ("raised", "called", "useful", "later", "ignored", "quiet", "met_before", "lapsed", "open",
     "acknowledged", "escalated"), 0,
)  # fmt: skip


def test_a_reminder_that_nobody_answered_is_counted_once_everywhere(api: BoardApi) -> None:
    api.ward()
    api.episode("1")
    api.record("e1", "issued", NOON)
    for minute in (20, 30):
        api.clock.now = NOON + timedelta(minutes=minute)
        tick(api.store, now=api.clock.now)

    said = _asked(api, "manager").json()

    one = NOTHING | {"raised": 1, "called": 1}
    told = {"clock": "start", "repeats": False}
    groups = [
        told | one | {"stage": "notice", "ignored": 1},
        told | one | {"stage": "due", "open": 1},
    ]
    groups += [group | {"clock": "return"} for group in groups]
    both = NOTHING | {"raised": 4, "called": 4, "ignored": 2, "open": 2}
    assert said == {
        "ward_id": "w1",
        "from_at": "2026-03-03T12:00:00Z",
        "to_at": "2026-03-03T13:00:00Z",
        "useful_minutes": 10,
        "total": both,
        "groups": groups,
        "hours": [{"hour": n, **(both if n == NOON.hour else NOTHING)} for n in range(24)],
        "units": {"among": 1, "total": 4, "middle": 4.0, "most": 4},
        "shifts": [],
    }


def test_a_period_that_cannot_be_is_refused_by_its_field(api: BoardApi) -> None:
    api.ward()

    answer = _asked(api, "manager", hours=-1)

    assert (answer.status_code, problem_of(answer)["errors"]) == (
        422,
        [{"field": "to", "message": "is not after from; expected a later instant"}],
    )


def _asked(api: BoardApi, role: str, *, hours: int = 1) -> Any:
    period = {"from": NOON, "to": NOON + timedelta(hours=hours)}
    return api.get(PATH, role, ward_id="w1", **period)
