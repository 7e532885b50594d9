"""What identity checks came to, and how one is interrupted."""

from typing import Any, Final

from server.domain.identity_reading import Item, scanned
from server.domain.payloads import CheckedItem
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.enter_readings import Entered
from server.services.interrupt_check import interrupt_check
from tests.domain.builders import at
from tests.services.charting import local_policy
from tests.services.identity import Bedside
from tests.services.people import NURSE

ONE_CHECKER: Final = local_policy("[identity.checkers]\nvalue = 1\n")
READ: Final = (
    Item.NAME,
    Item.DATE_OF_BIRTH,
    Item.RECORD_NUMBER,
    Item.BLOOD_GROUP,
    Item.EXPIRY,
    Item.UNIT_NUMBER,
    Item.PRODUCT,
)
OTHER_BAND: Final = scanned("T000002")
OTHER_GROUP: Final = scanned("=%6200")


def matched(*items: Item) -> tuple[CheckedItem, ...]:
    return tuple(CheckedItem(item, matched=True) for item in items)


def facts(unit: Bedside) -> list[tuple[Any, str, str | None]]:
    """What the log says of identity: the payload, who recorded it and who did it."""
    events = unit.charting.episode(60, unit.episode_id).events
    return [
        (event.payload, event.recorded_by, event.staff_id)
        for event in events
        if event.kind is Kind.IDENTITY_CHECKED
    ]


def interrupt(unit: Bedside, person: Actor, minute: float = 6, check_id: str = "") -> Entered:
    with unit.charting.store.write() as session:
        given = check_id or unit.check_id(NURSE)
        return interrupt_check(session, person, "e1", given, now=at(minute))
