"""What wristbands and badges say: whose they are. Numbers of ICCBBA ST-001, or of GS1."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class PatientBirthDate:
    """A date of birth from a patient's label, with the code of where such a label is."""

    kind: ClassVar[str] = "birth_date"
    data_structure: ClassVar[str] = "024"
    location: str
    date: date


@dataclass(frozen=True, slots=True)
class PatientId:
    """A patient's number from an ISBT 128 label."""

    kind: ClassVar[str] = "patient_id"
    data_structure: ClassVar[str] = "025"
    location: str
    number: str


@dataclass(frozen=True, slots=True)
class StaffNumber:
    """A badge: the facility and the number that it gave a member of staff."""

    kind: ClassVar[str] = "staff_number"
    data_structure: ClassVar[str] = "020"
    facility: str
    number: str


@dataclass(frozen=True, slots=True)
class RecipientNumber:
    """A patient's GS1 service relation number, 18 digits with a check digit."""

    kind: ClassVar[str] = "recipient_number"
    data_structure: ClassVar[str] = "8018"
    gsrn: str


@dataclass(frozen=True, slots=True)
class ProviderNumber:
    """A member of staff's GS1 service relation number, 18 digits with a check digit."""

    kind: ClassVar[str] = "provider_number"
    data_structure: ClassVar[str] = "8017"
    gsrn: str


@dataclass(frozen=True, slots=True)
class ServiceInstance:
    """Which of several bands of one patient it is."""

    kind: ClassVar[str] = "service_instance"
    data_structure: ClassVar[str] = "8019"
    number: str


@dataclass(frozen=True, slots=True)
class RecordNumber:
    """A plain text, as wristbands carry a record number."""

    kind: ClassVar[str] = "record_number"
    data_structure: ClassVar[str] = ""
    text: str
