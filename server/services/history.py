"""Records of units given elsewhere or before, as they are read in; and what became of them."""

from dataclasses import dataclass, field
from datetime import date, datetime

from server.domain.payloads import Observed
from server.domain.words import Component


@dataclass(frozen=True, slots=True)
class HistoryEpisode:
    """One line for a unit that was started. Volumes in mL, rate in mL/h; None: not recorded."""

    line: int
    episode_id: str
    patient_id: str
    component: Component
    started_at: datetime
    birth_date: date | None = None
    weight_kg: float | None = None
    ward_id: str | None = None
    bed: str = ""
    volume_ml: float | None = None
    removed_at: datetime | None = None
    issued_at: datetime | None = None
    rate_ml_h: float | None = None
    ended_at: datetime | None = None
    given_ml: float | None = None
    end_reason: str | None = None
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class HistoryObservation:
    """One line for a set of vital signs of a patient."""

    line: int
    patient_id: str
    happened_at: datetime
    observed: Observed
    recorded_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that could not be read, and why."""

    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class Remark:
    """What is to be said about a line: refused, or taken although it is doubtful."""

    file: str
    line: int
    text: str


@dataclass(slots=True)
class ImportReport:
    """What an import did. A line that was there already from an earlier run is not new."""

    episodes: int = 0
    observations: int = 0
    already: int = 0
    refused: list[Remark] = field(default_factory=list)
    doubtful: list[Remark] = field(default_factory=list)
