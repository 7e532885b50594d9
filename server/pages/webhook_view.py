"""What the screens of webhooks show: where each goes, how it stands, and what was sent to it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.delivery import DeliveryState
from server.domain.wording import CLOCK, dated_time
from server.domain.words import Stage
from server.pages.links import webhook_href
from server.services.list_deliveries import Counts, Outbox
from server.services.webhook_address import host_of
from server.store.deliveries import Letter
from server.store.webhooks import Webhook

STAGE: Final[dict[Stage, str]] = {
    Stage.NOTICE: "before it is due",
    Stage.DUE: "when it is due",
    Stage.OVERDUE: "at the limit, and each repeat",
    Stage.ESCALATE: "when it is escalated",
    Stage.SECOND_ESCALATE: "when it is escalated again",
}
COUNTED: Final = {
    DeliveryState.DELIVERED: "delivered",
    DeliveryState.WAITING: "waiting",
    DeliveryState.STALE: "given up",
}
STATE: Final = {
    DeliveryState.WAITING: "waiting",
    DeliveryState.DELIVERED: "delivered",
    DeliveryState.STALE: "given up as stale",
    DeliveryState.DROPPED: "dropped",
}


@dataclass(frozen=True, slots=True)
class Glance:
    """Whose eyes: the zone of the ward, the instant, and whether they may change webhooks."""

    zone: ZoneInfo
    now: datetime
    ward_id: str
    changes: bool

    def words(self, instant: datetime | None) -> str:
        """A time of the ward, empty for none."""
        return "" if instant is None else dated_time(instant, self.zone, self.now)


@dataclass(frozen=True, slots=True)
class LetterView:
    """One message: what it told of, how it stands and where to have it sent again, if anywhere."""

    what: str
    stage: str
    made: str
    state: str
    kind: str
    tries: str
    answer: str
    again_href: str


@dataclass(frozen=True, slots=True)
class WebhookView:
    """One webhook. `address` is the host alone for whoever does not set it up."""

    name: str
    href: str
    address: str
    stages: tuple[str, ...]
    wards: str
    state: str
    off: bool
    sending: bool
    counts: str
    both_sign: str


def webhook_view(
    webhook: Webhook, counts: Counts, wards: Mapping[str, str], glance: Glance
) -> WebhookView:
    """Answer a webhook as shown; `wards` are the names of the wards that are known."""
    two = len(webhook.secrets_at(glance.now)) > 1
    return WebhookView(
        name=webhook.name,
        href=webhook_href(glance.ward_id, webhook.id),
        address=webhook.address if glance.changes else host_of(webhook.address),
        stages=tuple(words for stage, words in STAGE.items() if stage in webhook.stages),
        wards=_wards(webhook, wards),
        state=state_words(webhook, glance),
        off=webhook.off_at is not None,
        sending=webhook.is_sending,
        counts=counts_words(counts),
        both_sign=glance.words(webhook.old_secret_until) if two else "",
    )


def letter_views(outbox: Outbox, glance: Glance) -> tuple[LetterView, ...]:
    """Answer the last messages to a webhook."""
    return tuple(_letter(one, outbox.webhook, glance) for one in outbox.letters)


def state_words(webhook: Webhook, glance: Glance) -> str:
    """Answer whether anything is sent there, and why not."""
    if webhook.off_at is not None:
        return f"off since {glance.words(webhook.off_at)}: {webhook.off_why}"
    if webhook.paused_at is not None:
        return f"paused since {glance.words(webhook.paused_at)}"
    return "on"


def counts_words(counts: Counts) -> str:
    """Answer how many messages of a day stand how: `12 delivered, 1 waiting`."""
    said = [f"{counts[state]} {words}" for state, words in COUNTED.items() if counts.get(state)]
    return ", ".join(said) or "none"


def _wards(webhook: Webhook, wards: Mapping[str, str]) -> str:
    if webhook.wards is None:
        return "all wards"
    named = [wards[ward_id] for ward_id in sorted(webhook.wards) if ward_id in wards]
    others = len(webhook.wards) - len(named)
    return ", ".join([*named, *([f"{others} more"] if others else [])])


def _letter(letter: Letter, webhook: Webhook, glance: Glance) -> LetterView:
    delivery, told = letter.delivery, letter.told
    again = glance.changes and delivery.state is not DeliveryState.WAITING
    href = f"{webhook_href(glance.ward_id, webhook.id)}/messages/{delivery.id}/again"
    return LetterView(
        what="Trial message" if told is None else f"Bed {told.bed}: {CLOCK[told.clock]}",
        stage="" if told is None else STAGE[told.stage],
        made=glance.words(delivery.made_at),
        state=_state(letter, webhook, glance),
        kind="" if delivery.state in COUNTED and delivery.state != DeliveryState.STALE else "soft",
        tries=str(delivery.tries),
        answer=_answer(letter, glance),
        again_href=href if again else "",
    )


def _state(letter: Letter, webhook: Webhook, glance: Glance) -> str:
    delivery = letter.delivery
    if delivery.state is not DeliveryState.WAITING:
        return f"{STATE[delivery.state]} {glance.words(delivery.ended_at)}"
    if not webhook.is_sending:
        return f"waits, at most until {glance.words(delivery.stale_at)}"
    return "waits for its first try" if delivery.tries == 0 else "waits for its next try"


def _answer(letter: Letter, glance: Glance) -> str:
    delivery = letter.delivery
    if delivery.answer is None:
        return ""
    return f"{delivery.answer}, {glance.words(delivery.tried_at)}"
