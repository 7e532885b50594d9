"""What is ordered on a ward in a week."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Final

from seed_demo import chance
from server.domain.request import Request
from server.domain.words import Component, Priority

MINUTE: Final = timedelta(minutes=1)
MONDAY: Final = datetime(2026, 3, 2, tzinfo=UTC)
DAYS: Final = 7
BY_DAY: Final = (8 * 60, 19 * 60)
AT_NIGHT: Final = 0.15
"""The part of the orders that comes at any hour; the others come by day."""

COMPONENTS: Final = (*(Component.RED_CELLS,) * 7, Component.PLATELETS, Component.PLASMA)
PRIORITIES: Final = (*(Priority.ROUTINE,) * 7, *(Priority.URGENT,) * 2, Priority.EMERGENCY)
VOLUMES_ML: Final = {
    Component.RED_CELLS: (255, 310),
    Component.PLATELETS: (220, 330),
    Component.PLASMA: (230, 285),
}
LASTS_MINUTES: Final = {
    Component.RED_CELLS: (90, 180),
    Component.PLATELETS: (30, 60),
    Component.PLASMA: (30, 60),
}


def requests_of(seed: int, ward: int, orders_a_day: int) -> list[Request]:
    """The units ordered on a ward, in order of time; one or two units an order."""
    made = [
        request
        for day in range(DAYS)
        for n in range(orders_a_day)
        for request in _order(seed, ward, f"{day}-{n}", MONDAY + timedelta(days=day))
    ]
    return sorted(made, key=lambda one: (one.recorded_at, one.id))


def _order(seed: int, ward: int, label: str, day: datetime) -> Iterator[Request]:
    name = f"w{ward}-{label}"
    at_any = chance.happens(AT_NIGHT, seed, name, "night")
    low, high = (0, 24 * 60 - 1) if at_any else BY_DAY
    asked = day + round(chance.between(low, high, seed, name, "asked")) * MINUTE
    component = chance.one_of(COMPONENTS, seed, name, "component")
    units = 1 + chance.happens(0.35, seed, name, "two")
    for n in range(1, units + 1):
        volume = chance.between(*VOLUMES_ML[component], seed, name, n, "volume")
        lasts = chance.between(*LASTS_MINUTES[component], seed, name, "lasts")
        yield Request(
            id=f"{name}-{n}",
            patient_id=name,
            ward_id=f"w{ward}",
            bed=name,
            component=component,
            recorded_at=asked,
            recorded_by="charge",
            volume_ml=float(round(volume)),
            order_id=name,
            n=n,
            units=units,
            priority=chance.one_of(PRIORITIES, seed, name, "priority"),
            duration_minutes=round(lasts),
            sample_taken_at=asked - 120 * MINUTE,
            requested_at=asked,
        )
