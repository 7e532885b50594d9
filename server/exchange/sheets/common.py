"""Columns that several sheets share, and what all files of one person and ward say alike."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.request import Patient
from server.domain.wording import COMPONENT
from server.exchange.sheets.sheet import About, Cells, Column, Holds, Shape
from server.store.wards import Ward

COMPONENT_WORDS: Final[Mapping[str, str]] = {one.value: words for one, words in COMPONENT.items()}
PATIENT: Final = (
    Column("patient_id", "Patient", note="The id of the patient here", holds=Holds.PATIENT),
    Column("record_number", "Record number", holds=Holds.IDENTITY),
    Column("family_name", "Family name", holds=Holds.IDENTITY),
    Column("given_name", "Given name", holds=Holds.IDENTITY),
    Column("birth_date", "Date of birth", Shape.DAY, holds=Holds.IDENTITY),
)
EPISODE: Final = Column(
    "episode_id",
    "Unit here",
    note="The id of the unit here: the end of the address of its page",
    holds=Holds.IDENTITY,
)
BED: Final = Column("bed", "Bed", holds=Holds.IDENTITY)
COMPONENT_GIVEN: Final = Column("component", "Component", words=COMPONENT_WORDS)
UNIT_NUMBER: Final = Column(
    "unit_number", "Unit number", note="As on the label, 13 characters if it is ISBT 128"
)


def patient_cells(patient: Patient) -> Cells:
    """The cells of `PATIENT`."""
    return (
        patient.id,
        patient.record_number,
        patient.family_name,
        patient.given_name,
        patient.birth_date,
    )


@dataclass(frozen=True, slots=True)
class Maker:
    """Who makes a file of which ward, when and with what."""

    ward: Ward
    role: str
    now: datetime
    version: str

    @property
    def zone(self) -> ZoneInfo:
        """The zone of the ward."""
        return ZoneInfo(self.ward.timezone)

    def about(self, title: str, only: tuple[str, ...], *facts: tuple[str, str]) -> About:
        """What a file says of itself."""
        return About(
            title=title,
            ward=self.ward.name,
            zone=self.zone,
            made_at=self.now,
            made_by=self.role,
            version=self.version,
            only=only,
            facts=facts,
        )
