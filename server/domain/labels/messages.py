"""What is neither bag nor person: the head of a message, and what is not needed here."""

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Compound:
    """The head of a message: how many structures follow, and the number that names their order."""

    kind: ClassVar[str] = "compound"
    data_structure: ClassVar[str] = "023"
    count: int
    reference: str


@dataclass(frozen=True, slots=True)
class Other:
    """A structure that is recognised and not needed here; `retired` ones may still be met."""

    kind: ClassVar[str] = "other"
    data_structure: str
    name: str
    content: str
    retired: bool = False


@dataclass(frozen=True, slots=True)
class National:
    """A structure that a country has defined for itself; only there is its content known."""

    kind: ClassVar[str] = "national"
    data_structure: ClassVar[str] = "national"
    identifier: str
    content: str
