"""Webhooks: where reminders are sent to, and whether anything is sent there just now."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, or_, select, update

from server.domain.signature import PREFIX
from server.domain.words import Stage
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for, upsert, values_of
from server.store.tables import WEBHOOK
from server.store.vault import Vault, is_sealed


@dataclass(frozen=True, slots=True)
class Webhook:
    """An address that reminders of some stages are sent to; `wards` None: of every ward.

    Paused by somebody, or turned off because its receiver refuses: messages wait for it. Beside
    the secret the one before it signs too, until `old_secret_until`. `refusals` in a row count.
    Secrets are stored sealed, and stay so here where the board's key does not open them.
    """

    id: str
    name: str
    address: str
    stages: frozenset[Stage]
    wards: frozenset[str] | None
    secret: str
    made_at: datetime
    made_by: str
    old_secret: str | None = None
    old_secret_until: datetime | None = None
    paused_at: datetime | None = None
    off_at: datetime | None = None
    off_why: str | None = None
    removed_at: datetime | None = None
    refusals: int = 0
    not_before: datetime | None = None

    @property
    def is_sending(self) -> bool:
        """Whether messages are sent there."""
        return self.paused_at is None and self.off_at is None and self.removed_at is None

    def is_of(self, ward_id: str) -> bool:
        """Whether it is sent the reminders of a ward."""
        return self.wards is None or ward_id in self.wards

    @property
    def is_readable(self) -> bool:
        """Whether the board's key opened its secret, so that messages can be signed."""
        return not is_sealed(self.secret)

    def secrets_at(self, now: datetime) -> tuple[str, ...]:
        """What its messages are signed with, the newest first."""
        until = self.old_secret_until
        if self.old_secret is None or until is None or until <= now or is_sealed(self.old_secret):
            return (self.secret,)
        return (self.secret, self.old_secret)


_WEBHOOK: Final = WEBHOOK.c
_WEBHOOKS: Final = select(*columns_for(WEBHOOK, Webhook))
_LEASE: Final = ("leased_until", "leased_by")


def save_webhook(session: WriteSession, webhook: Webhook) -> None:
    """Keep a webhook as it now is; who is sending to it stays."""
    seal, old = session.vault.seal, webhook.old_secret
    values = values_of(webhook) | {
        "secret": seal(webhook.secret, webhook.id),
        "old_secret": None if old is None else seal(old, webhook.id),
        "stages": sorted(webhook.stages),
        "wards": None if webhook.wards is None else sorted(webhook.wards),
    }
    session.run(upsert(session.engine_name, WEBHOOK.name, _LEASE), values)


def read_webhook(session: ReadSession, webhook_id: str) -> Webhook | None:
    """One webhook, None if there is none of that id or it was removed."""
    return next(iter(_read(session, _WEBHOOKS.where(_WEBHOOK.id == webhook_id))), None)


def list_webhooks(session: ReadSession) -> tuple[Webhook, ...]:
    """Every webhook that was not removed, by name; a hospital has a handful."""
    return _read(session, _WEBHOOKS)


def webhooks_in_clear(session: ReadSession) -> tuple[Webhook, ...]:
    """The webhooks of which a secret is not sealed."""
    stand = or_(*(one.startswith(PREFIX) for one in (_WEBHOOK.secret, _WEBHOOK.old_secret)))
    return _read(session, _WEBHOOKS.where(stand))


def lease_webhooks(
    session: WriteSession, webhook_ids: Iterable[str], by: str, now: datetime, until: datetime
) -> tuple[Webhook, ...]:
    """Be the only one that sends to these webhooks until an instant; those that could be had.

    Whoever had one and died gives it back when its time is over.
    """
    taken = (
        update(WEBHOOK)
        .where(
            _WEBHOOK.id.in_(sorted(set(webhook_ids))),
            (_WEBHOOK.leased_until.is_(None)) | (_WEBHOOK.leased_until <= now),
        )
        .values(leased_until=until, leased_by=by)
        .returning(_WEBHOOK.id)
    )
    ids = {row.id for row in session.rows(taken)}
    return tuple(one for one in list_webhooks(session) if one.id in ids)


def give_back(session: WriteSession, webhook_id: str, by: str) -> None:
    """Let others send to a webhook again, unless they do already."""
    mine = update(WEBHOOK).where(_WEBHOOK.id == webhook_id, _WEBHOOK.leased_by == by)
    session.run(mine.values(leased_until=None, leased_by=None))


def _read(session: ReadSession, listed: Select[Any]) -> tuple[Webhook, ...]:
    standing = listed.where(_WEBHOOK.removed_at.is_(None)).order_by(_WEBHOOK.name, _WEBHOOK.id)
    return tuple(_webhook(row, session.vault) for row in session.rows(standing))


def _webhook(row: AnyRow, vault: Vault) -> Webhook:
    facts = row._asdict()
    for name in ("secret", "old_secret"):
        facts[name] = None if facts[name] is None else vault.open(facts[name], facts["id"])
    facts["stages"] = frozenset(Stage(stage) for stage in facts["stages"])
    facts["wards"] = None if facts["wards"] is None else frozenset(facts["wards"])
    return Webhook(**facts)
