"""A suspected reaction: stop, work through the steps, observe, close."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from seed_demo.actors.before_start import signs_now
from seed_demo.actors.scene import Look, Wish
from server.domain.payloads import ReactionClosed, ReactionStep, Stopped
from server.domain.payloads.reaction import RECHECK_IDENTITY
from server.domain.reaction import Suspicion
from server.domain.words import Phase, Recheck

OUTCOMES: Final = (
    "reaction confirmed: settled after treatment; not restarted",
    "reaction confirmed: judged mild; patient well; not restarted",
)
GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})


def wishes_in_reaction(look: Look) -> Iterator[Wish]:
    """What is to be done while a suspicion is open, the most important first."""
    suspicion = look.episode.reaction
    if suspicion is None:
        return
    if look.episode.phase in GIVING:
        given = round(look.picture.infusion.given_ml)
        yield Wish(suspicion.since, Stopped("suspected reaction", given))
        return
    left = suspicion.lacks(look.picture.case.policy.reaction_steps)
    if left:
        yield _next_step(look, suspicion, left[0])
    yield _observe(look, suspicion.since)
    if not left:
        outcome = OUTCOMES[look.happens(0.5, "outcome")]
        closed = suspicion.since + look.lag("closed", 70, 110)
        yield Wish(closed, ReactionClosed(outcome), by=look.shift.charge.staff_id)


def _next_step(look: Look, suspicion: Suspicion, slug: str) -> Wish:
    done = suspicion.ticked
    last = max([suspicion.since, *(tick.at for tick in done)])
    result = Recheck.AGREES if slug == RECHECK_IDENTITY else None
    return Wish(last + look.lag(f"step {len(done)}", 1, 5), ReactionStep(slug, result))


def _observe(look: Look, since: datetime) -> Wish:
    every = look.picture.case.policy.reaction_every
    last = max([since - every, *look.sets])
    return Wish(last + every, signs_now(look))
