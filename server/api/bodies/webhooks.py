"""Bodies that set webhooks up and tend them."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.fields import Id, Line, Ref, Stage, Strict
from server.domain import limits
from server.services.enter_webhook import WebhookDraft
from server.services.webhook_address import LONGEST


class WebhookBody(Strict):
    """A webhook; an id that exists changes that webhook. `wards` null: every ward."""

    id: Id | None = None
    name: Line
    address: Annotated[str, Field(min_length=1, max_length=LONGEST)]
    stages: Annotated[list[Stage], Field(min_length=1, max_length=limits.LIST_ITEMS)]
    wards: Annotated[list[Ref], Field(min_length=1, max_length=limits.LIST_ITEMS)] | None

    def draft(self) -> WebhookDraft:
        """What it asks to enter."""
        wards = None if self.wards is None else frozenset(self.wards)
        return WebhookDraft(self.id, self.name, self.address, frozenset(self.stages), wards)


class WebhookStateBody(Strict):
    """Have a webhook pause, go on, or be gone for good."""

    state: Literal["on", "paused", "removed"]


class SecretBody(Strict):
    """Nothing: that a secret is to be exchanged is said by where it is sent."""


class MessageBody(Strict):
    """A trial message of a ward, or a message that was sent before."""

    ward_id: Ref | None = None
    message_id: Ref | None = None
