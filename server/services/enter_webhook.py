"""Webhooks of the wards: enter and change them, see them."""

from dataclasses import dataclass, replace
from datetime import datetime
from secrets import token_bytes

from server.domain import limits
from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text
from server.domain.signature import secret_of
from server.domain.words import Stage
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_ward import read_ward
from server.services.errors import Forbidden, NotFound
from server.services.permissions import Act, require
from server.services.webhook_address import require_address
from server.store import webhooks as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import list_wards
from server.store.webhooks import Webhook

_KEY_BYTES = 32  # the specification asks for 24 to 64


@dataclass(frozen=True, slots=True)
class WebhookDraft:
    """A webhook as entered; an id that exists changes it. `wards` None: every ward."""

    id: str | None
    name: str
    address: str
    stages: frozenset[Stage]
    wards: frozenset[str] | None


def new_webhook_secret() -> str:
    """Answer a secret that nobody can guess, as the specification writes it."""
    return secret_of(token_bytes(_KEY_BYTES))


def enter_webhook(
    session: WriteSession, actor: Actor, draft: WebhookDraft, *, allow_http: bool, now: datetime
) -> Webhook:
    """Enter a webhook, whose secret is shown this once, or change one.

    Raises `Forbidden`, `Invalid`. Who changes it has to be on all its wards, before and after.
    """
    _require_wards(actor, draft.wards)
    _require_sound(session, draft, allow_http=allow_http)
    before = None if draft.id is None else stored.read_webhook(session, draft.id)
    if before is not None:
        _require_wards(actor, before.wards)
    webhook = _changed(before, draft) if before else _made(draft, actor, now)
    stored.save_webhook(session, webhook)
    act = AuditAct.WEBHOOK_CHANGED if before else AuditAct.WEBHOOK_MADE
    note_webhook(session, actor, act, webhook, now=now)
    return webhook


def list_webhooks(session: ReadSession, actor: Actor, ward_id: str) -> tuple[Webhook, ...]:
    """Answer the webhooks that are told of a ward's reminders, by name.

    Raises `NotFound`, `Forbidden`.
    """
    require(actor, Act.SEE_WEBHOOKS, ward_id)
    read_ward(session, actor, ward_id)
    return tuple(one for one in stored.list_webhooks(session) if one.is_of(ward_id))


def read_webhook(session: ReadSession, actor: Actor, webhook_id: str) -> Webhook:
    """Answer a webhook of one of the actor's wards. Raises `NotFound`, `Forbidden`."""
    require(actor, Act.SEE_WEBHOOKS)
    webhook = stored.read_webhook(session, webhook_id)
    if webhook is None:
        raise NotFound("the webhook")
    if actor.wards is not None and not any(map(webhook.is_of, actor.wards)):
        raise Forbidden("this is not one of your wards")
    return webhook


def is_entered(session: ReadSession, webhook_id: str | None) -> bool:
    """Whether there is a webhook of that id."""
    return webhook_id is not None and stored.read_webhook(session, webhook_id) is not None


def webhook_to_change(session: ReadSession, actor: Actor, webhook_id: str) -> Webhook:
    """Answer a webhook if the actor may change it. Raises `NotFound`, `Forbidden`."""
    webhook = read_webhook(session, actor, webhook_id)
    _require_wards(actor, webhook.wards)
    return webhook


def note_webhook(
    session: WriteSession,
    actor: Actor,
    act: AuditAct,
    webhook: Webhook,
    *,
    now: datetime,
    did: str = "",
) -> None:
    """Note what was done to a webhook in the audit trail."""
    detail = {"name": webhook.name} | ({"did": did} if did else {})
    note(session, actor, act, Subject(SubjectKind.WEBHOOK, webhook.id), now=now, detail=detail)


def may_change(actor: Actor, webhook: Webhook) -> bool:
    """Whether the actor sets up all wards that a webhook is told of."""
    try:
        _require_wards(actor, webhook.wards)
    except Forbidden:
        return False
    return True


def _require_wards(actor: Actor, wards: frozenset[str] | None) -> None:
    require(actor, Act.SET_UP)
    if wards is None and actor.wards is not None:
        raise Forbidden("it is told of every ward, and not all are yours")
    for ward_id in sorted(wards or ()):
        require(actor, Act.SET_UP, ward_id)


def _require_sound(session: ReadSession, draft: WebhookDraft, *, allow_http: bool) -> None:
    require_text("name", draft.name, limits.SHORT_TEXT)
    require_address(draft.address, allow_http=allow_http)
    if not draft.stages:
        raise Invalid("stages", "none was chosen; expected at least one")
    if draft.wards is None:
        return
    if not draft.wards:
        raise Invalid("wards", "none was chosen; expected at least one, or all")
    known = {ward.id for ward in list_wards(session, draft.wards)}
    for ward_id in sorted(draft.wards - known):
        raise Invalid("wards", f"there is no ward {ward_id}")


def _changed(before: Webhook, draft: WebhookDraft) -> Webhook:
    """Another address begins anew: what the old one refused says nothing about it."""
    changed = replace(
        before,
        name=draft.name.strip(),
        address=draft.address,
        stages=draft.stages,
        wards=draft.wards,
    )
    if draft.address == before.address:
        return changed
    return replace(changed, off_at=None, off_why=None, refusals=0, not_before=None)


def _made(draft: WebhookDraft, actor: Actor, now: datetime) -> Webhook:
    return Webhook(
        id=draft.id or new_id(),
        name=draft.name.strip(),
        address=draft.address,
        stages=draft.stages,
        wards=draft.wards,
        secret=new_webhook_secret(),
        made_at=now,
        made_by=actor.id,
    )
