"""The body of `POST /api/episodes/{id}/events`: one model a kind of event."""

from datetime import datetime
from typing import Annotated

from pydantic import Field

from server.api.bodies.bedside import BedsideFact
from server.api.bodies.charting import ChartingFact
from server.api.bodies.facts import payload_of
from server.api.bodies.infusing import InfusingFact
from server.api.bodies.reaction import ReactionFact
from server.api.bodies.storage import IssuedFact, StorageFact
from server.domain.words import Kind
from server.services.record_event import Draft, require_not_ahead

EventBody = Annotated[
    StorageFact | BedsideFact | ReactionFact | InfusingFact | ChartingFact,
    Field(discriminator="kind"),
]


def event_draft(body: EventBody, now: datetime) -> Draft:
    """What a body asks to record. Raises `Invalid` for the impossible and the future."""
    if isinstance(body, IssuedFact) and body.removed_at is not None:
        require_not_ahead("removed_at", body.removed_at, now)
    kind = Kind(body.kind)
    return Draft(
        kind=kind,
        happened_at=body.happened_at,
        payload=payload_of(kind, body),
        staff_id=body.staff_id,
        expected_revision=body.expected_revision,
    )
