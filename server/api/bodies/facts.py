"""What every fact is sent with, and how it becomes one of the domain's."""

from dataclasses import fields

from server.api.fields import Ref, Revision, Strict
from server.api.instants import Instant
from server.domain.encoding import decode
from server.domain.payloads import PAYLOADS, Payload
from server.domain.words import Kind


class Fact(Strict):
    """When it happened, by whom, and against which state of the episode it was written.

    `staff_id` says who did it where that is not who sends it. With `expected_revision` the fact
    is refused if the episode has changed since.
    """

    happened_at: Instant
    staff_id: Ref | None = None
    expected_revision: Revision | None = None


def payload_of(kind: Kind, body: Strict) -> Payload:
    """The payload in a body. Raises `Invalid` for what the domain finds impossible."""
    names = {field.name for field in fields(PAYLOADS[kind])}
    return decode(kind, body.model_dump(mode="json", include=names, exclude_none=True))
