"""What each ward allows at once, and from when."""

from datetime import datetime, time
from typing import Any, Final

from sqlalchemy import bindparam, select

from server.domain.workload.capacity import Collector, NightRule, WallWindow, WardLimits
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import upsert, values_of
from server.store.tables import WARD_RULES

_IN_FORCE: Final = (
    select(WARD_RULES.c.rules)
    .where(
        WARD_RULES.c.ward_id == bindparam("of_ward"),
        WARD_RULES.c.from_at <= bindparam("at", type_=WARD_RULES.c.from_at.type),
    )
    .order_by(WARD_RULES.c.from_at.desc())
    .limit(1)
)


def save_limits(
    session: WriteSession, ward_id: str, limits: WardLimits, *, from_at: datetime, by: str
) -> None:
    """Have a ward's limits hold from an instant on. `Clash`: no such ward."""
    row = {"ward_id": ward_id, "from_at": from_at, "rules": _written(limits), "recorded_by": by}
    session.run(upsert(session.engine_name, WARD_RULES.name), row)


def limits_at(session: ReadSession, ward_id: str, at: datetime) -> WardLimits:
    """What a ward allowed at an instant; without an entry nothing is limited."""
    rules = session.value(_IN_FORCE, {"of_ward": ward_id, "at": at})
    return WardLimits() if rules is None else _read(rules)


def _written(limits: WardLimits) -> dict[str, Any]:
    handovers = [
        [window.from_time.isoformat("minutes"), window.until_time.isoformat("minutes")]
        for window in limits.handovers
    ]
    return {**values_of(limits), "handovers": handovers}


def _read(rules: dict[str, Any]) -> WardLimits:
    handovers = (
        WallWindow(time.fromisoformat(first), time.fromisoformat(last))
        for first, last in rules["handovers"]
    )
    return WardLimits(
        **{
            **rules,
            "handovers": tuple(handovers),
            "night_rule": NightRule(rules["night_rule"]),
            "collected_by": Collector(rules["collected_by"]),
        }
    )
