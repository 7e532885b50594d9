"""A ward of a few units that run, and a token to chart on them."""

from collections.abc import Iterable
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
from server.domain.words import Component, Kind, Role, Stage
from server.policies import load_policies
from server.services.actor import SYSTEM, Actor
from server.services.enter_ward import WardDraft, enter_ward
from server.services.enter_webhook import WebhookDraft, enter_webhook
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.services.tokens import make_token
from server.store.migrate import migrate
from server.store.sessions import WriteSession
from server.store.store import Store
from tests.faults.programs import address_of

ADMINISTRATOR: Final = Actor("a", "Administrator", Role.ADMINISTRATOR, None)
WARD: Final = "w1"
CHECKED: Final = IdentityChecked(
    first_by="n1", second_by="n2", items=(CheckedItem("name", matched=True),)
)
APART: Final = timedelta(seconds=2.5)
LATEST: Final = 4  # so many units have passed the first limit already
PATHWAY: Final[tuple[tuple[Kind, int, Payload], ...]] = (
    (Kind.ISSUED, 30, Issued()),
    (Kind.INSPECTED, 25, Inspected()),
    (Kind.IDENTITY_CHECKED, 21, CHECKED),
    (Kind.STARTED, 20, Started(rate_ml_h=60)),
)


@dataclass(frozen=True, slots=True)
class SmallWard:
    """What clients and receivers need to know; `secrets` by the address of each webhook."""

    database: Path | str
    token: str
    episode_ids: tuple[str, ...]
    secrets: dict[str, str]


def make_small_ward(
    database: Path | str, now: datetime, units: int = 24, webhooks: Iterable[str] = ()
) -> SmallWard:
    """Make the database, with units that started twenty minutes ago, each a little after another.

    Their clocks are passed one by one from now on. `webhooks` are addresses that are told of all.
    """
    store = Store(address_of(database))
    migrate(store)
    with store.write() as session:
        draft = WardDraft(WARD, "Lantern", "uk", "Europe/London")
        enter_ward(session, ADMINISTRATOR, draft, load_policies(), now=now)
        token = make_token(session, "faults", Role.INTERFACE, None, now=now)
        secrets = {address: _enter_webhook(session, address, now) for address in webhooks}
        ids = tuple(_begin(session, number, now) for number in range(units))
    store.close()
    return SmallWard(database, token, ids, secrets)


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
        happened_at = now - timedelta(minutes=minutes) + (number - LATEST) * APART
        fact = Draft(kind, happened_at, payload)
        record_event(session, SYSTEM, request.id, fact, now=now)
    return request.id


def _enter_webhook(session: WriteSession, address: str, now: datetime) -> str:
    draft = WebhookDraft(None, address, address, frozenset(Stage), frozenset({WARD}))
    made = enter_webhook(session, ADMINISTRATOR, draft, allow_http=True, now=now)
    return made.secret


def _patient(number: int) -> PatientDraft:
    return PatientDraft(
        id=f"p{number}",
        record_number=f"T{number:06}",
        family_name="Alder",
        given_name=f"Ida {number}",
        birth_date=None,
    )
