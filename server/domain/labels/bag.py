"""What the label of a bag says: one frozen value for each kind of structure.

Times are naive: the label's own wall time. `data_structure` is the number that ICCBBA ST-001 or
the GS1 General Specifications give the structure; `kind` is our word for it.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Final

from server.domain.labels.products import COLLECTION, STOPS
from server.domain.words import BloodGroup

_PLAIN_GROUPS: Final = {group.value: group for group in BloodGroup}
_SIGNS: Final = {"pos": "+", "neg": "-"}


DIVIDED_APART: Final = "99"
"""The division of a product code whose division stands in a structure of its own (032)."""


@dataclass(frozen=True, slots=True)
class Product:
    """What is in the bag: a code of five characters, how it was collected, and which division.

    `division` is 00 for a bag that was not divided. The names of the codes are licensed: a site
    loads them.
    """

    kind: ClassVar[str] = "product"
    data_structure: ClassVar[str] = "003"
    code: str
    collection: str
    division: str

    @property
    def collection_says(self) -> str | None:
        """How it was collected, None for a character that has no meaning here."""
        return COLLECTION.get(self.collection)

    @property
    def stops(self) -> str | None:
        """Why the bag must not be given as it is."""
        return STOPS.get(self.collection)

    @property
    def printed(self) -> str:
        """The eight characters as they are printed on the label."""
        return f"{self.code}{self.collection}{self.division}"


@dataclass(frozen=True, slots=True)
class Division:
    """Which division of a product it is, where two characters do not suffice."""

    kind: ClassVar[str] = "division"
    data_structure: ClassVar[str] = "032"
    code: str


@dataclass(frozen=True, slots=True)
class Phenotype:
    """Rh and Kell beside the group: "+", "-" or None where the label says nothing."""

    K: str | None = None
    C: str | None = None
    c: str | None = None
    E: str | None = None
    e: str | None = None
    mia_mur: str | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """ABO and RhD as the label codes them, with what the code says of the intended use.

    `group` is set for the eight plain groups only: a Bombay, a pooled or an A2 bag is none of
    them. `stops` says why the bag must not be given as it is. `ask_special_testing`: another bar
    code has to be read too.
    """

    kind: ClassVar[str] = "group"
    data_structure: ClassVar[str] = "002"
    code: str
    abo: str | None
    rhd: str | None
    use: str
    stops: str | None = None
    phenotype: Phenotype = Phenotype()
    ask_special_testing: bool = False

    @property
    def group(self) -> BloodGroup | None:
        """The plain group, None where the code says another thing."""
        return _PLAIN_GROUPS.get(f"{self.abo}{_SIGNS.get(self.rhd or '', '')}")


@dataclass(frozen=True, slots=True)
class Expiry:
    """Until when the bag may be given; without a time until the end of that day."""

    kind: ClassVar[str] = "expiry"
    at: datetime
    with_time: bool

    @property
    def data_structure(self) -> str:
        """The number of the structure."""
        return "005" if self.with_time else "004"


@dataclass(frozen=True, slots=True)
class Collected:
    """When the donation was collected."""

    kind: ClassVar[str] = "collection"
    at: datetime
    with_time: bool

    @property
    def data_structure(self) -> str:
        """The number of the structure."""
        return "007" if self.with_time else "006"


@dataclass(frozen=True, slots=True)
class Produced:
    """When the product was made."""

    kind: ClassVar[str] = "production"
    at: datetime
    with_time: bool

    @property
    def data_structure(self) -> str:
        """The number of the structure."""
        return "009" if self.with_time else "008"


@dataclass(frozen=True, slots=True)
class SpecialTesting:
    """A code of special testing; what it means is licensed: a site loads it."""

    kind: ClassVar[str] = "special_testing"
    data_structure: ClassVar[str] = "010"
    code: str


@dataclass(frozen=True, slots=True)
class Antigens:
    """Red-cell antigens: pairs of a name and "pos" or "neg"; `more` is the code at the end."""

    kind: ClassVar[str] = "antigens"
    data_structure: ClassVar[str] = "012"
    results: tuple[tuple[str, str], ...]
    more: str

    def result(self, antigen: str) -> str | None:
        """The result of one antigen: pos, neg, or None where the label says nothing of it."""
        return dict(self.results).get(antigen)

    @property
    def hbs_negative(self) -> bool:
        """Whether the label says that haemoglobin S is absent."""
        return self.more == "96"

    @property
    def iga_deficient(self) -> bool:
        """Whether the label says that the donor lacks IgA."""
        return self.more == "98"


@dataclass(frozen=True, slots=True)
class PlateletAntigens:
    """HLA and HPA of platelets, undecoded, and whether high-titre anti-A and anti-B are absent."""

    kind: ClassVar[str] = "platelet_antigens"
    data_structure: ClassVar[str] = "014"
    digits: str

    @property
    def no_high_titre(self) -> bool:
        """Whether the label says that the bag has no high-titre anti-A or anti-B."""
        return self.digits[-1] == "1"


@dataclass(frozen=True, slots=True)
class InfectionMarkers:
    """Infection markers, undecoded but for hepatitis E: "pos", "neg" or None."""

    kind: ClassVar[str] = "infection_markers"
    data_structure: ClassVar[str] = "027"
    digits: str

    @property
    def hev(self) -> str | None:
        """What nucleic acid testing for hepatitis E found."""
        return {"3": "neg", "6": "pos"}.get(self.digits[9])
