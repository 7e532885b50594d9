"""Records of a unit and a set of vital signs, and reading them in."""

from datetime import date, timedelta
from typing import Any, Final

from server.domain.request import Patient
from server.domain.words import Component
from server.services.actor import Actor
from server.services.history import BadLine, HistoryEpisode, HistoryObservation, ImportReport
from server.services.import_history import import_history
from server.store.patients import read_patient
from tests.domain.builders import FULL, at
from tests.services.charting import Charting
from tests.services.people import PROGRAM

LATER: Final = at(0) + timedelta(days=30)
UNIT: Final = HistoryEpisode(
    line=2,
    episode_id="u1",
    patient_id="h1",
    component=Component.RED_CELLS,
    started_at=at(10),
    birth_date=date(1950, 1, 31),
    weight_kg=65,
    ward_id="w1",
    bed="7",
    volume_ml=280,
    removed_at=at(-5),
    issued_at=at(0),
    rate_ml_h=120,
    ended_at=at(150),
    given_ml=280,
    end_reason="completed",
    recorded_at=at(155),
)
BARE: Final = HistoryEpisode(2, "u1", "h1", Component.PLASMA, at(10))
SET: Final = HistoryObservation(2, "h1", at(5), FULL, at(6))


def read_in(
    charting: Charting,
    *episodes: HistoryEpisode | BadLine,
    sets: tuple[HistoryObservation | BadLine, ...] = (),
    actor: Actor = PROGRAM,
    **asked: Any,
) -> ImportReport:
    """Read records in onto `w1`, a month later."""
    given: dict[str, Any] = {"ward_id": "w1", "now": LATER} | asked
    return import_history(charting.store, actor, episodes=episodes, observations=sets, **given)


def patient_of(charting: Charting, patient_id: str = "h1") -> Patient | None:
    """What is known of a patient."""
    with charting.store.read() as session:
        return read_patient(session, patient_id)
