"""One unit of one patient on the served ward, what its band and bag say, and what others record."""

from datetime import date, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from seed_demo.staff import WARD_ID
from server.clock import utc_now
from server.domain.payloads import PAYLOADS, Issued, Payload, Voided
from server.domain.words import BloodGroup, Component, Kind, Role
from server.services.actor import Actor
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.read_episode import read_episode
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.store.ids import new_id
from server.store.store import Store
from tests.browser.ward import Ward

BO: Final = Actor("ek", "Bo Ek", Role.BEDSIDE_NURSE, frozenset({WARD_ID}), staff_id="ek")
LAB: Final = Actor("lab", "Laboratory", Role.INTERFACE, None)
ZONE: Final = ZoneInfo("Pacific/Auckland")
KIND: Final = {payload: kind for kind, payload in PAYLOADS.items()}
GROUP_CODE: Final = {
    "O-": "9500", "O+": "5100", "A-": "0600", "A+": "6200",
    "B-": "1700", "B+": "7300", "AB-": "2800", "AB+": "8400",
}  # fmt: skip
"""ABO/RhD codes of ISBT 128, ST-001 table 3, from memory."""


class Bedside:
    """One unit. The facility A9999 is invented: no real unit bears such a number."""

    def __init__(self, ward: Ward) -> None:
        self.id = f"walk-{new_id()}"
        self.number = f"A999926{int(new_id(), 16) % 1_000_000:06}"
        self._store = Store(ward.database)
        day = (utc_now() + timedelta(days=9)).astimezone(ZONE)
        self.expires = day.replace(hour=23, minute=59, second=0, microsecond=0)
        self.band, self.group = f"EW{int(new_id(), 16) % 10**8:08}", BloodGroup.A_POS.value
        # A patient of its own: what another test observes would be a baseline of this unit too.
        patient = PatientDraft(
            id=None, record_number=self.band, family_name="Tamsin", given_name="Orla",
            birth_date=date(1958, 7, 14), blood_group=BloodGroup(self.group), weight_kg=71,
        )  # fmt: skip
        with self._store.write() as session:
            draft = EpisodeDraft(
                id=self.id, patient_id=register_patient(session, LAB, patient, now=utc_now()).id,
                ward_id=WARD_ID, bed="18", component=Component.RED_CELLS, volume_ml=280,
            )  # fmt: skip
            open_episode(session, LAB, draft, now=utc_now())

    @property
    def labels(self) -> tuple[str, str]:
        """What a scanner reads from the bag: number with group, product with expiry."""
        number = f"={self.number}00=%{GROUP_CODE[self.group]}"
        return number, f"=<E0336V00&>0{self.expires:%y%j}2359"

    def issue(self) -> None:
        """The laboratory issues the unit with all that its label says."""
        label = Issued(
            unit_number=self.number,
            product_code="E0336V00",
            blood_group=BloodGroup(self.group),
            expires_at=self.expires,
        )
        self.record(label, LAB)

    def record(self, payload: Payload, actor: Actor = BO, *, ago: timedelta = timedelta(0)) -> None:
        """Somebody records a fact now, of now or of a while ago."""
        now = utc_now()
        with self._store.write() as session:
            draft = Draft(KIND[type(payload)], now - ago, payload)
            record_event(session, actor, self.id, draft, now=now)

    def take_back(self, kind: Kind, actor: Actor = BO) -> None:
        """Somebody takes the last fact of a kind back."""
        with self._store.read() as session:
            told = read_episode(session, actor, self.id, now=utc_now()).events
        last = [event for event in told if event.kind is kind][-1]
        self.record(Voided(last.id, "a mistake"), actor)

    def close(self) -> None:
        """Let go of the database."""
        self._store.close()
