"""Whose a thing is that somebody looked at: its patient, and the ward it is on."""

from dataclasses import dataclass
from typing import Final

from sqlalchemy import bindparam, select

from server.store.sessions import ReadSession
from server.store.tables import EPISODE


@dataclass(frozen=True, slots=True)
class Concerned:
    """The patient and the ward; None where there is none."""

    patient_id: str | None = None
    ward_id: str | None = None


_OF_EPISODE: Final = select(EPISODE.c.patient_id, EPISODE.c.ward_id).where(
    EPISODE.c.id == bindparam("of_episode")
)
_NEWEST_WARD: Final = (
    select(EPISODE.c.ward_id)
    .where(EPISODE.c.patient_id == bindparam("of_patient"))
    .order_by(EPISODE.c.recorded_at.desc(), EPISODE.c.id)
    .limit(1)
)


def concerned_by_episode(session: ReadSession, episode_id: str) -> Concerned:
    """The patient and the ward of a unit."""
    row = session.row(_OF_EPISODE, {"of_episode": episode_id})
    return Concerned() if row is None else Concerned(row.patient_id, row.ward_id)


def concerned_by_patient(session: ReadSession, patient_id: str) -> Concerned:
    """A patient, and the ward that their last unit was asked for on."""
    ward_id = session.value(_NEWEST_WARD, {"of_patient": patient_id})
    return Concerned(patient_id, ward_id)
