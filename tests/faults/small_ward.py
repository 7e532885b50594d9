"""A ward of a few units that run, and a token to chart on them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from server.domain.payloads import (
    CheckedItem,
    IdentityChecked,
    Inspected,
    Issued,
    Payload,
    Started,
)
from server.domain.words import Component, Kind, Role
from server.policies import load_policies
from server.services.actor import SYSTEM, Actor
from server.services.enter_ward import WardDraft, enter_ward
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.services.tokens import make_token
from server.store.migrate import migrate
from server.store.sessions import WriteSession
from server.store.store import Store

ADMINISTRATOR: Final = Actor("a", "Administrator", Role.ADMINISTRATOR, None)
WARD: Final = "w1"
CHECKED: Final = IdentityChecked(
    first_by="n1", second_by="n2", items=(CheckedItem("name", matched=True),)
)
PATHWAY: Final[tuple[tuple[Kind, int, Payload], ...]] = (
    (Kind.ISSUED, 30, Issued()),
    (Kind.INSPECTED, 25, Inspected()),
    (Kind.IDENTITY_CHECKED, 21, CHECKED),
    (Kind.STARTED, 20, Started(rate_ml_h=60)),
)


@dataclass(frozen=True, slots=True)
class SmallWard:
    """What clients need to know."""

    database: Path
    token: str
    episode_ids: tuple[str, ...]


def make_small_ward(database: Path, now: datetime, units: int = 24) -> SmallWard:
    """Make the database, with units that started twenty minutes ago."""
    store = Store(f"sqlite:///{database}")
    migrate(store)
    with store.write() as session:
        draft = WardDraft(WARD, "Lantern", "uk", "Europe/London")
        enter_ward(session, ADMINISTRATOR, draft, load_policies(), now=now)
        token = make_token(session, "faults", Role.INTERFACE, None, now=now)
        ids = tuple(_begin(session, number, now) for number in range(units))
    store.close()
    return SmallWard(database, token, ids)


def _begin(session: WriteSession, number: int, now: datetime) -> str:
    patient = register_patient(session, SYSTEM, _patient(number), now=now)
    request = open_episode(
        session,
        SYSTEM,
        EpisodeDraft(
            id=f"e{number}",
            patient_id=patient.id,
            ward_id=WARD,
            bed=str(number + 1),
            component=Component.RED_CELLS,
            volume_ml=280.0,
        ),
        now=now,
    )
    for kind, minutes, payload in PATHWAY:
        fact = Draft(kind, now - timedelta(minutes=minutes), payload)
        record_event(session, SYSTEM, request.id, fact, now=now)
    return request.id


def _patient(number: int) -> PatientDraft:
    return PatientDraft(
        id=f"p{number}",
        record_number=f"T{number:06}",
        family_name="Alder",
        given_name=f"Ida {number}",
        birth_date=None,
    )
