"""Record several facts about a unit as one: all of them or none."""

from collections.abc import Sequence
from datetime import datetime

from server.services.actor import Actor
from server.services.cases import CaseRead
from server.services.record_event import Draft, Recorded, record_event
from server.store.sessions import WriteSession


def record_together(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    drafts: Sequence[Draft],
    *,
    now: datetime,
    ahead: CaseRead | None = None,
) -> tuple[Recorded, ...]:
    """Record facts in their order; each stays a fact of its own, to be voided alone.

    `ahead` is the case as it was read before the turn, reaching to the first of them.
    Raises what `record_event` raises for the first that is refused. Then nothing is stored: the
    caller's transaction must not be kept.
    """
    return tuple(
        record_event(session, actor, episode_id, draft, now=now, ahead=ahead) for draft in drafts
    )
