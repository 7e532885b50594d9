"""What the files of a site say: who suits whom, licence-bound codes, the plain wristband number.

A site's files are data like a policy: handed in, never read here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Final

from server.domain.attributes import Attribute
from server.domain.requirements import Requirement
from server.domain.review.audits import Audit
from server.domain.words import Component

UNKNOWN: Final = "unknown"
"""The recipient whose group is not known."""
RECIPIENTS: Final = ("O", "A", "B", "AB", UNKNOWN)
DONORS: Final = ("O", "A", "B", "AB")
RHD: Final = ("pos", "neg")


class Match(StrEnum):
    """How well a unit's group suits a patient's, best first."""

    FIRST = "first"
    ACCEPTABLE = "acceptable"
    CONDITIONAL = "conditional"
    EMERGENCY_ONLY = "emergency_only"
    NOT_LISTED = "not_listed"
    NEVER = "never"


WORST_FIRST: Final = tuple(reversed(Match))
ALWAYS_STOP: Final = frozenset({Match.NEVER, Match.NOT_LISTED})
"""No site may let these through without a reason."""


@dataclass(frozen=True, slots=True)
class Cell:
    """What the table says of one donor group for one recipient group."""

    level: Match
    note: str = ""


@dataclass(frozen=True, slots=True)
class RhdCell:
    """What the table says of RhD; `at_risk` is the level for those whom anti-D would harm most.

    `anti_d` says that the laboratory and the prescriber have to hear of it.
    """

    level: Match
    at_risk: Match
    anti_d: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class ComponentTable:
    """One component: recipient → donor → cell, the donors of a recipient in order of preference.

    `rhd` is patient → unit → cell, None where RhD is not matched.
    """

    source: str
    abo: Mapping[str, Mapping[str, Cell]]
    rhd: Mapping[str, Mapping[str, RhdCell]] | None
    rhd_source: str


@dataclass(frozen=True, slots=True)
class RequirementRow:
    """To which components a special requirement applies, and who says so."""

    components: frozenset[Component]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CompatibilityTable:
    """The table of a site. `signed_by` is empty until a clinician has signed it off.

    A start needs a recorded reason at the levels in `needs_reason`, or in `unknown_needs_reason`
    while the patient's group is not recorded. Ages are full years.
    """

    version: str
    signed_by: str
    signed_on: date | None
    needs_reason: frozenset[Match]
    unknown_needs_reason: frozenset[Match]
    components: Mapping[Component, ComponentTable]
    child_under_years: int
    childbearing_until_years: int
    requirements: Mapping[Requirement, RequirementRow]

    @property
    def is_signed(self) -> bool:
        """Whether a clinician answers for it with name and date."""
        return bool(self.signed_by) and self.signed_on is not None


@dataclass(frozen=True, slots=True)
class Coded:
    """What a licence-bound code stands for; an attribute that is not named says nothing."""

    code: str
    component: Component | None
    shows: Mapping[Attribute, bool]


@dataclass(frozen=True, slots=True)
class Site:
    """Everything that the folder of a site says. Without a table nothing is judged."""

    compatibility: CompatibilityTable | None = None
    products: Mapping[str, Coded] = field(default_factory=dict)
    special_testing: Mapping[str, Coded] = field(default_factory=dict)
    record_number: re.Pattern[str] | None = None
    audits: tuple[Audit, ...] = ()


NO_SITE: Final = Site()
