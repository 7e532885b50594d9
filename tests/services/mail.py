"""Webhooks on both wards, and a postman who sends nothing: letters taken and answered by hand."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final

from server.domain.delivery import Answer
from server.domain.words import Stage
from server.services.actor import Actor
from server.services.deliver import Post, hand_back, message_of, note_answer, take_post
from server.services.enter_webhook import WebhookDraft, enter_webhook
from server.services.list_deliveries import Outbox, list_deliveries, send_trial
from server.store.store import Store
from server.store.webhooks import Webhook, read_webhook
from tests.domain.builders import at
from tests.services.charting import Charting, Minute, instant
from tests.services.people import ADMINISTRATOR, W1

PAGER: Final = WebhookDraft("pager", "Pagers", "https://pager.example/in", frozenset(Stage), W1)
TAKEN: Final = Answer(204)
FAILED: Final = Answer(500)
REFUSED: Final = Answer(404)
SILENT: Final = Answer(None, "no answer within 5 s")
SECOND: Final = timedelta(seconds=1)


def enter(
    store: Store, draft: WebhookDraft = PAGER, *, actor: Actor = ADMINISTRATOR, when: Minute = 0
) -> Webhook:
    """Enter a webhook, or change one."""
    with store.write() as session:
        return enter_webhook(session, actor, draft, allow_http=False, now=instant(when))


def pager(**fields: Any) -> WebhookDraft:
    """The draft of the pagers with other fields."""
    return replace(PAGER, **fields)


def stored(store: Store, webhook_id: str = "pager") -> Webhook:
    """A webhook as it is kept."""
    with store.read() as session:
        webhook = read_webhook(session, webhook_id)
    assert webhook is not None
    return webhook


def take(store: Store, when: Minute, by: str = "postman") -> tuple[Post, ...]:
    """What is to be sent at an instant."""
    return take_post(store, by, now=instant(when))


def answered(store: Store, when: Minute, *answers: Answer) -> list[str]:
    """Send what is due: the first letters get these answers; which messages were tried."""
    tried = []
    for post in take(store, when):
        for letter, answer in zip(post.letters, answers, strict=False):
            note_answer(store, post, letter, answer, now=instant(when))
            tried.append(letter.delivery.id)
        hand_back(store, post)
    return tried


def contents(posts: tuple[Post, ...], when: Minute) -> list[dict[str, Any]]:
    """What messages say."""
    now = instant(when)
    return [
        json.loads(message_of(post.webhook, letter, now=now).body)
        for post in posts
        for letter in post.letters
    ]


def outbox(
    store: Store, when: Minute, *, actor: Actor = ADMINISTRATOR, webhook_id: str = "pager"
) -> Outbox:
    """What was sent to a webhook, as somebody sees it."""
    with store.read() as session:
        return list_deliveries(session, actor, webhook_id, now=instant(when))


def states(store: Store, when: Minute) -> list[tuple[str, int, str | None]]:
    """How the messages stand, the newest first: state, tries, last answer."""
    letters = outbox(store, when).letters
    return [(one.delivery.state, one.delivery.tries, one.delivery.answer) for one in letters]


def issue_one(charting: Charting) -> Charting:
    """A webhook of ward `w1`; unit `e1` was issued at the base, its start is due at 30 min."""
    enter(charting.store)
    charting.open()
    charting.issue()
    return charting


def try_out(store: Store, when: int = 0) -> str:
    """Send a trial on `w1`; the id of its message."""
    with store.write() as session:
        return send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(when)).id
