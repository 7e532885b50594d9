"""Labels of bags, wristbands and badges: what a scanner read, and numbers that people type.

Formats only: product description codes, special testing codes and facilities are licensed tables
that a site loads.
"""

from server.domain.labels.bag import (
    DIVIDED_APART,
    Antigens,
    Collected,
    Division,
    Expiry,
    Group,
    InfectionMarkers,
    Phenotype,
    PlateletAntigens,
    Produced,
    Product,
    SpecialTesting,
)
from server.domain.labels.messages import Compound, National, Other
from server.domain.labels.people import (
    PatientBirthDate,
    PatientId,
    ProviderNumber,
    RecipientNumber,
    RecordNumber,
    ServiceInstance,
    StaffNumber,
)
from server.domain.labels.scans import Scan, Structure, read_scan
from server.domain.labels.unit_numbers import (
    UnitNumber,
    plain_unit_number,
    read_unit_number,
    split_product,
)

__all__ = [
    "DIVIDED_APART",
    "Antigens",
    "Collected",
    "Compound",
    "Division",
    "Expiry",
    "Group",
    "InfectionMarkers",
    "National",
    "Other",
    "PatientBirthDate",
    "PatientId",
    "Phenotype",
    "PlateletAntigens",
    "Produced",
    "Product",
    "ProviderNumber",
    "RecipientNumber",
    "RecordNumber",
    "Scan",
    "ServiceInstance",
    "SpecialTesting",
    "StaffNumber",
    "Structure",
    "UnitNumber",
    "plain_unit_number",
    "read_scan",
    "read_unit_number",
    "split_product",
]
