"""Webhooks: where reminders are sent to, and what was sent."""

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from server.api.answers.problem import READING, WRITING
from server.api.answers.webhooks import (
    MessageAnswer,
    WebhookAnswer,
    WebhookMade,
    WebhookStateAnswer,
    message_answer,
    webhook_answer,
    webhook_made,
)
from server.api.bodies.webhooks import MessageBody, SecretBody, WebhookBody, WebhookStateBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import OfWard, PathId
from server.api.requests import StrictRoute
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.enter_webhook import (
    enter_webhook,
    is_entered,
    list_webhooks,
    may_change,
    webhook_to_change,
)
from server.services.list_deliveries import list_deliveries, send_again, send_trial
from server.services.shown import shows_no_patient
from server.services.tend_webhook import (
    pause_webhook,
    remove_webhook,
    resume_webhook,
    rotate_secret,
)
from server.store.sessions import WriteSession

router = APIRouter(route_class=StrictRoute, tags=["webhooks"])

SECRET = frozenset({"secret"})
TEND = {"on": resume_webhook, "paused": pause_webhook, "removed": remove_webhook}


@router.get("/webhooks", response_model=list[WebhookAnswer], responses=READING)
@shows_no_patient
def get_webhooks(asks: Asks, query: Annotated[OfWard, Query()]) -> Response:
    """The webhooks that are told of a ward, by name."""
    with asks.read() as (session, _):
        found = list_webhooks(session, asks.actor, query.ward_id)
    return json_answer([webhook_answer(one, whole=may_change(asks.actor, one)) for one in found])


@router.post("/webhooks", status_code=201, response_model=WebhookMade, responses=WRITING)
def post_webhook(body: WebhookBody, writes: Writes, request: Request) -> Response:
    """Enter a webhook, whose secret is in the answer, or change the one of that id."""
    allow_http = request.app.state.settings.webhook_http

    def write(session: WriteSession, actor: Actor, now: datetime) -> WebhookMade:
        is_new = not is_entered(session, body.id)
        made = enter_webhook(session, actor, body.draft(), allow_http=allow_http, now=now)
        return webhook_made(made, is_new=is_new)

    return writes.write(write, shown_once=SECRET)


@router.post(
    "/webhooks/{id}/state", status_code=201, response_model=WebhookStateAnswer, responses=WRITING
)
def post_state(id: PathId, body: WebhookStateBody, writes: Writes) -> Response:
    """Pause a webhook, have it go on, also after it was turned off, or remove it."""

    def write(session: WriteSession, actor: Actor, now: datetime) -> WebhookStateAnswer:
        TEND[body.state](session, actor, id, now=now)
        return WebhookStateAnswer(id=id, state=body.state)

    return writes.write(write)


@router.post(
    "/webhooks/{id}/secret", status_code=201, response_model=WebhookMade, responses=WRITING
)
def post_secret(id: PathId, body: SecretBody, writes: Writes) -> Response:  # noqa: ARG001 - it is read to refuse what is in it
    """Exchange the secret for the one in the answer; for a day both sign."""

    def write(session: WriteSession, actor: Actor, now: datetime) -> WebhookMade:
        rotate_secret(session, actor, id, now=now)
        return webhook_made(webhook_to_change(session, actor, id), is_new=True)

    return writes.write(write, shown_once=SECRET)


@router.get("/webhooks/{id}/messages", response_model=list[MessageAnswer], responses=READING)
@shows_no_patient
def get_messages(id: PathId, asks: Asks) -> Response:
    """The last messages to a webhook, of the caller's wards, the newest first."""
    with asks.read() as (session, now):
        outbox = list_deliveries(session, asks.actor, id, now=now)
    return json_answer([message_answer(one.delivery) for one in outbox.letters])


@router.post(
    "/webhooks/{id}/messages", status_code=201, response_model=MessageAnswer, responses=WRITING
)
def post_message(id: PathId, body: MessageBody, writes: Writes) -> Response:
    """Send a trial message of a ward, or a message again, under the id it had."""

    def write(session: WriteSession, actor: Actor, now: datetime) -> MessageAnswer:
        if body.message_id is not None and body.ward_id is None:
            sent = send_again(session, actor, id, body.message_id, now=now)
        elif body.ward_id is not None and body.message_id is None:
            sent = send_trial(session, actor, id, body.ward_id, now=now)
        else:
            raise Invalid("message_id", "expected either that, or ward_id for a trial")
        return message_answer(sent)

    return writes.write(write)
