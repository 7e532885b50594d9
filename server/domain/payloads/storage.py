"""From the blood bank to the bedside and back: what the unit itself went through."""

from dataclasses import dataclass
from datetime import datetime

from server.domain import limits
from server.domain.attributes import require_attributes
from server.domain.labels.unit_numbers import plain_unit_number
from server.domain.payloads.values import require_text, require_within
from server.domain.words import BloodGroup, Fate


@dataclass(frozen=True, slots=True)
class Available:
    """The unit is ready in the blood bank."""


@dataclass(frozen=True, slots=True)
class Issued:
    """The unit was handed over; `removed_at` is when it left controlled storage.

    An ISBT 128 unit number that came with its data identifier or its flags is kept as its 13
    characters; a number of another kind as it is. `division` tells the packs of one product.
    `attributes` are what its label or the laboratory says of it, named as in `Attribute`.
    """

    removed_at: datetime | None = None
    unit_number: str | None = None
    product_code: str | None = None
    blood_group: BloodGroup | None = None
    expires_at: datetime | None = None
    volume_ml: float | None = None
    attributes: tuple[str, ...] = ()
    division: str | None = None

    def __post_init__(self) -> None:
        require_attributes(self.attributes)
        require_text("division", self.division, limits.SHORT_TEXT)
        require_within("volume_ml", self.volume_ml, limits.VOLUME_ML)
        require_text("unit_number", self.unit_number, limits.SHORT_TEXT)
        require_text("product_code", self.product_code, limits.SHORT_TEXT)
        if self.unit_number is not None:
            object.__setattr__(self, "unit_number", plain_unit_number(self.unit_number))


@dataclass(frozen=True, slots=True)
class Received:
    """The unit reached the ward."""


@dataclass(frozen=True, slots=True)
class Inspected:
    """The bag was looked at; any finding refuses the start."""

    leak: bool = False
    clots: bool = False
    discoloured: bool = False
    damaged: bool = False

    @property
    def findings(self) -> tuple[str, ...]:
        """The names of what was found wrong."""
        names = ("leak", "clots", "discoloured", "damaged")
        return tuple(name for name in names if getattr(self, name))


@dataclass(frozen=True, slots=True)
class Returned:
    """The unit went back to the blood bank."""

    reason: str | None = None

    def __post_init__(self) -> None:
        require_text("reason", self.reason)


@dataclass(frozen=True, slots=True)
class Discarded:
    """The unit was thrown away."""

    reason: str

    def __post_init__(self) -> None:
        require_text("reason", self.reason)


@dataclass(frozen=True, slots=True)
class Cancelled:
    """The request was withdrawn before the unit was issued."""

    reason: str

    def __post_init__(self) -> None:
        require_text("reason", self.reason)


@dataclass(frozen=True, slots=True)
class FateRecorded:
    """The final fate of the unit was recorded."""

    fate: Fate
