"""Facts from the blood bank to the bedside and back."""

from typing import Literal

from pydantic import Field

from server.api.bodies.facts import Fact
from server.api.fields import BloodGroup, Fate, Line, Lines, Text, VolumeMl
from server.api.instants import Instant


class AvailableFact(Fact):
    """The unit is ready in the blood bank."""

    kind: Literal["available"]


class IssuedFact(Fact):
    """The unit was handed over; `removed_at` is when it left controlled storage.

    `attributes` are what its label or the laboratory says of it, by name.
    """

    kind: Literal["issued"]
    removed_at: Instant | None = None
    unit_number: Line | None = None
    product_code: Line | None = None
    division: Line | None = None
    blood_group: BloodGroup | None = None
    expires_at: Instant | None = None
    volume_ml: VolumeMl | None = None
    attributes: Lines = Field(default_factory=list)


class ReceivedFact(Fact):
    """The unit reached the ward."""

    kind: Literal["received"]


class InspectedFact(Fact):
    """The bag was looked at; any finding refuses the start."""

    kind: Literal["inspected"]
    leak: bool
    clots: bool
    discoloured: bool
    damaged: bool


class ReturnedFact(Fact):
    """The unit went back to the blood bank."""

    kind: Literal["returned"]
    reason: Text | None = None


class DiscardedFact(Fact):
    """The unit was thrown away."""

    kind: Literal["discarded"]
    reason: Text


class CancelledFact(Fact):
    """The request was withdrawn before the unit was issued."""

    kind: Literal["cancelled"]
    reason: Text


class FateFact(Fact):
    """The final fate of the unit was recorded."""

    kind: Literal["fate"]
    fate: Fate


StorageFact = (
    AvailableFact
    | IssuedFact
    | ReceivedFact
    | InspectedFact
    | ReturnedFact
    | DiscardedFact
    | CancelledFact
    | FateFact
)
