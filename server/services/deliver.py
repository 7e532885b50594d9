"""Deliver what is in the outbox: take it, say what it says, and note what came of each try.

Nothing is sent from here, and nothing while a transaction is open: whoever sends takes letters,
sends them, and hands in each answer. A webhook is leased meanwhile, so that of two processes one
sends to it. Who dies with a letter sent and not noted has it sent again, under the same identity.
"""

import json
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from server.domain.clock import SECOND
from server.domain.delivery import (
    MOST_REFUSALS,
    Answer,
    DeliveryState,
    Outcome,
    outcome_of,
    rest_asked,
    wait_after,
)
from server.domain.encoding import write_instant
from server.domain.reminder_words import reminder_text, since_then
from server.domain.signature import signed_headers
from server.store.deliveries import (
    Delivery,
    Letter,
    Told,
    give_up_stale,
    is_anything_stale,
    letters_to,
    read_delivery,
    save_delivery,
    webhooks_with_mail,
)
from server.store.sessions import WriteSession
from server.store.store import Store
from server.store.webhooks import Webhook, give_back, lease_webhooks, read_webhook, save_webhook

BATCH: Final = 50
LEASE: Final = 10 * SECOND
SILENT_REST: Final = 5 * SECOND  # for a receiver that did not answer at all
WITHDRAWN: Final = "withdrawn"
NOT_READABLE: Final = "its secret cannot be read with this board’s key; give it another"


@dataclass(frozen=True, slots=True)
class Post:
    """What is to be sent to one webhook now, in this order, by whoever leased it."""

    webhook: Webhook
    letters: tuple[Letter, ...]
    leased_by: str


@dataclass(frozen=True, slots=True)
class Message:
    """One request: the body to post, and the headers that sign it."""

    address: str
    headers: dict[str, str]
    body: bytes


def take_post(store: Store, leased_by: str, *, now: datetime) -> tuple[Post, ...]:
    """Take what is to be sent at `now` to webhooks that nobody else sends to; stale goes first.

    `leased_by` tells who takes it from everybody else, at every time.
    """
    with store.read() as reading:
        if not webhooks_with_mail(reading, now) and not is_anything_stale(reading, now):
            return ()
    with store.write() as session:
        give_up_stale(session, now)
        wanted = webhooks_with_mail(session, now)
        leased = lease_webhooks(session, wanted, leased_by, now, now + LEASE)
        for one in leased:
            if not one.is_readable:
                save_webhook(session, replace(one, off_at=now, off_why=NOT_READABLE))
                give_back(session, one.id, leased_by)
        return tuple(
            Post(one, letters_to(session, one.id, now, limit=BATCH), leased_by)
            for one in leased
            if one.is_readable
        )


def message_of(webhook: Webhook, letter: Letter, *, now: datetime) -> Message:
    """Answer the request that delivers a letter at `now`; its texts are short by what they are."""
    content = _trial(letter) if letter.told is None else _reminder(letter, letter.told, now)
    body = json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()
    signed = signed_headers(letter.delivery.id, now, body, webhook.secrets_at(now))
    return Message(webhook.address, signed | {"content-type": "application/json"}, body)


def note_answer(store: Store, post: Post, letter: Letter, answer: Answer, *, now: datetime) -> None:
    """Note what came of a try: delivered, or when it is tried next, and whether ever again."""
    with store.write() as session:
        delivery = read_delivery(session, letter.delivery.id)
        webhook = read_webhook(session, post.webhook.id)
        if delivery is None or webhook is None:
            return
        outcome = outcome_of(answer)
        if outcome is Outcome.TAKEN:
            _keep_taken(session, webhook, delivery, answer, now)
        elif delivery.state is DeliveryState.WAITING:
            rest = rest_asked(answer, now)
            _keep_failed(session, delivery, answer, rest, now)
            _keep_judged(session, webhook, outcome, answer, rest, now)


def hand_back(store: Store, post: Post) -> None:
    """Let others send to the webhook."""
    with store.write() as session:
        give_back(session, post.webhook.id, post.leased_by)


def _keep_taken(
    session: WriteSession, webhook: Webhook, delivery: Delivery, answer: Answer, now: datetime
) -> None:
    save_delivery(
        session,
        replace(
            delivery,
            state=DeliveryState.DELIVERED,
            tries=delivery.tries + 1,
            tried_at=now,
            answer=answer.words,
            ended_at=now,
        ),
    )
    if webhook.refusals:
        save_webhook(session, replace(webhook, refusals=0))


def _keep_failed(
    session: WriteSession, delivery: Delivery, answer: Answer, rest: timedelta | None, now: datetime
) -> None:
    tries = delivery.tries + 1
    wait = max(wait_after(tries, delivery.id), rest or timedelta(0))
    tried = replace(delivery, tries=tries, tried_at=now, answer=answer.words, next_at=now + wait)
    save_delivery(session, tried)


def _keep_judged(
    session: WriteSession,
    webhook: Webhook,
    outcome: Outcome,
    answer: Answer,
    rest: timedelta | None,
    now: datetime,
) -> None:
    """Leave a receiver alone for as long as it asks or is silent; turn off one that refuses."""
    refusals = webhook.refusals + 1 if outcome is Outcome.REFUSED else webhook.refusals
    if answer.status is None:
        rest = SILENT_REST
    judged = replace(
        webhook, refusals=refusals, not_before=webhook.not_before if rest is None else now + rest
    )
    if webhook.off_at is None and (outcome is Outcome.GONE or refusals >= MOST_REFUSALS):
        judged = replace(judged, off_at=now, off_why=_why(outcome, answer))
    if judged != webhook:
        save_webhook(session, judged)


def _why(outcome: Outcome, answer: Answer) -> str:
    if outcome is Outcome.GONE:
        return "it answered that it is gone for good (HTTP 410)"
    return f"it refused {MOST_REFUSALS} times in a row, at last with {answer.words}"


def _trial(letter: Letter) -> dict[str, Any]:
    return {
        "type": "trial",
        "timestamp": write_instant(letter.delivery.made_at),
        "data": {
            "ward_id": letter.delivery.ward_id,
            "ward": letter.ward_name,
            "text": f"A trial message of {letter.ward_name}. It tells of no unit.",
        },
    }


def _reminder(letter: Letter, told: Told, now: datetime) -> dict[str, Any]:
    """A reminder as it stands now. Never a patient's name or record number, nor an id of theirs."""
    zone, times = ZoneInfo(letter.timezone), (told.due_at, told.limit_at)
    text = reminder_text(told.bed, told.clock, told.stage, times, zone, now)
    since = since_then(told.state, acknowledged=told.acknowledged_at is not None)
    return {
        "type": f"reminder.{told.stage}",
        "timestamp": write_instant(told.raised_at),
        "data": {
            "reminder_id": told.id,
            "episode_id": told.episode_id,
            "ward_id": letter.delivery.ward_id,
            "ward": letter.ward_name,
            "bed": told.bed,
            "clock": told.clock,
            "n": told.n,
            "stage": told.stage,
            "repeat": told.repeat,
            "to": told.to,
            "owed_at": write_instant(told.owed_at),
            "raised_at": write_instant(told.raised_at),
            "due_at": _instant(told.due_at),
            "limit_at": _instant(told.limit_at),
            "state": told.state or WITHDRAWN,
            "acknowledged_at": _instant(told.acknowledged_at),
            "acknowledged_by": told.acknowledged_by,
            "text": f"{text}; {since}" if since else text,
        },
    }


def _instant(at: datetime | None) -> str | None:
    return None if at is None else write_instant(at)
