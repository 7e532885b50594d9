"""What each kind of event carries, exactly as the JSON interface names it.

Field names carry their unit. Constructors refuse the impossible with `Invalid(field, message)`.
"""

from typing import Final

from server.domain.payloads.bedside import (
    CheckedItem,
    IdentityChecked,
    Observed,
)
from server.domain.payloads.charting import (
    Acknowledged,
    Assigned,
    CauseGiven,
    Note,
    Voided,
)
from server.domain.payloads.confirming import Confirmed
from server.domain.payloads.infusing import (
    Completed,
    Flushed,
    Paused,
    RateSet,
    Resumed,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.payloads.reaction import (
    ReactionClosed,
    ReactionStep,
    ReactionSuspected,
    Warned,
    WarningChecked,
)
from server.domain.payloads.storage import (
    Available,
    Cancelled,
    Discarded,
    FateRecorded,
    Inspected,
    Issued,
    Received,
    Returned,
)
from server.domain.words import Kind

Payload = (
    Available | Issued | Received | Inspected | IdentityChecked | Observed | Spiked | SetHung
    | SetChanged | Flushed | Started | RateSet | VolumeRead | Paused | Resumed | ReactionSuspected
    | ReactionStep | ReactionClosed | Stopped | Completed | Returned | Discarded | Cancelled
    | FateRecorded | Assigned | Acknowledged | Note | CauseGiven | Voided
    | Confirmed | Warned | WarningChecked
)  # fmt: skip

PAYLOADS: Final[dict[Kind, type[Payload]]] = {
    Kind.AVAILABLE: Available,
    Kind.ISSUED: Issued,
    Kind.RECEIVED: Received,
    Kind.INSPECTED: Inspected,
    Kind.IDENTITY_CHECKED: IdentityChecked,
    Kind.OBSERVED: Observed,
    Kind.CONFIRMED: Confirmed,
    Kind.SPIKED: Spiked,
    Kind.SET_HUNG: SetHung,
    Kind.SET_CHANGED: SetChanged,
    Kind.FLUSHED: Flushed,
    Kind.STARTED: Started,
    Kind.RATE_SET: RateSet,
    Kind.VOLUME_READ: VolumeRead,
    Kind.PAUSED: Paused,
    Kind.RESUMED: Resumed,
    Kind.REACTION_SUSPECTED: ReactionSuspected,
    Kind.REACTION_STEP: ReactionStep,
    Kind.REACTION_CLOSED: ReactionClosed,
    Kind.WARNED: Warned,
    Kind.WARNING_CHECKED: WarningChecked,
    Kind.STOPPED: Stopped,
    Kind.COMPLETED: Completed,
    Kind.RETURNED: Returned,
    Kind.DISCARDED: Discarded,
    Kind.CANCELLED: Cancelled,
    Kind.FATE: FateRecorded,
    Kind.ASSIGNED: Assigned,
    Kind.ACKNOWLEDGED: Acknowledged,
    Kind.NOTE: Note,
    Kind.CAUSE_GIVEN: CauseGiven,
    Kind.VOIDED: Voided,
}

__all__ = [
    "PAYLOADS",
    "Acknowledged",
    "Assigned",
    "Available",
    "Cancelled",
    "CauseGiven",
    "CheckedItem",
    "Completed",
    "Confirmed",
    "Discarded",
    "FateRecorded",
    "Flushed",
    "IdentityChecked",
    "Inspected",
    "Issued",
    "Note",
    "Observed",
    "Paused",
    "Payload",
    "RateSet",
    "ReactionClosed",
    "ReactionStep",
    "ReactionSuspected",
    "Received",
    "Resumed",
    "Returned",
    "SetChanged",
    "SetHung",
    "Spiked",
    "Started",
    "Stopped",
    "Voided",
    "VolumeRead",
    "Warned",
    "WarningChecked",
]
