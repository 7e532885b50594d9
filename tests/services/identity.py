"""Short ways through an identity check on a real database, and what bands and bags carry."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from server.domain.identity_reading import Item, Reading, confirmed, scanned
from server.domain.payloads import Issued
from server.domain.words import BloodGroup, Component
from server.services.actor import Actor
from server.services.enter_readings import Entered, enter_readings
from server.services.open_order import OrderDraft, open_order
from server.services.read_identity import IdentityRead, read_identity
from server.services.take_part import take_part
from server.store.identity_checks import IdentityCheck, StoredReading, readings_of
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import PROGRAM

# Invented: a number of the unassigned facility A9999.
UNIT_NUMBER: Final = "A999926123456"
BAND: Final = "T000001"
DIN_AND_GROUP: Final = "=A99992612345600=%5100"
PRODUCT_AND_EXPIRY: Final = "=<E0336V00&>0260642359"
EXPIRES: Final = datetime(2026, 3, 5, 23, 59, tzinfo=UTC)
ISSUED: Final = Issued(
    unit_number=UNIT_NUMBER,
    product_code="E0336V00",
    blood_group=BloodGroup.O_POS,
    expires_at=EXPIRES,
)
SPOKEN: Final = (confirmed(Item.NAME), confirmed(Item.DATE_OF_BIRTH))
EVERYTHING: Final = (
    *scanned(BAND),
    *SPOKEN,
    *scanned(DIN_AND_GROUP),
    *scanned(PRODUCT_AND_EXPIRY),
)


@dataclass(frozen=True)
class Bedside:
    """A unit at the bedside; minutes count from the base instant."""

    charting: Charting
    episode_id: str = "e1"

    def enter(
        self,
        person: Actor,
        *readings: Reading,
        minute: float = 5,
        check_id: str = "",
        episode_id: str = "",
    ) -> Entered:
        """Take part and enter readings."""
        unit = episode_id or self.episode_id
        with self.charting.store.write() as session:
            running = take_part(session, person, unit, check_id, now=at(minute))
            return enter_readings(session, person, unit, running, readings, now=at(minute))

    def look(self, person: Actor, *, minute: float = 5, **asked: Any) -> IdentityRead:
        """What one person sees."""
        reader = asked.get("reader", person)
        with self.charting.store.read() as session:
            return read_identity(session, person, self.episode_id, reader=reader, now=at(minute))

    def check(self, person: Actor) -> IdentityCheck:
        """The newest check."""
        check = self.look(person).check
        assert check is not None
        return check

    def check_id(self, person: Actor) -> str:
        """The id of the newest check."""
        return self.check(person).id

    def stored(self, person: Actor) -> tuple[StoredReading, ...]:
        """Everything that was read in the newest check."""
        with self.charting.store.read() as session:
            return readings_of(session, self.check_id(person))


def bedside(charting: Charting) -> Bedside:
    """Unit `e1` of Ida Alder, issued at the base instant with all that its label says."""
    charting.open()
    charting.record(0, ISSUED)
    return Bedside(charting)


def irradiated(charting: Charting) -> Bedside:
    """The same, ordered irradiated."""
    draft = OrderDraft("o1", "p1", "w1", "4", Component.RED_CELLS, 1, requirements=("irradiated",))
    with charting.store.write() as session:
        (episode_id,) = open_order(session, PROGRAM, draft, now=at(-60)).episode_ids
    charting.record(0, ISSUED, episode_id)
    return Bedside(charting, episode_id)
