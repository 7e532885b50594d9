"""A suspected reaction: stop, work through the steps, observe, close."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.before_start import signs_now
from seed_demo.actors.scene import Look, Wish
from seed_demo.reaction_steps import STEPS
from server.domain.payloads import ReactionClosed, ReactionStep, Stopped
from server.domain.words import Phase

OUTCOMES: Final = (
    "settled after treatment; not restarted",
    "judged mild; patient well; not restarted",
)
EVERY: Final = timedelta(minutes=14)
GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})


def wishes_in_reaction(look: Look) -> Iterator[Wish]:
    """What is to be done while a suspicion is open, the most important first."""
    since = look.episode.reaction_at
    if since is None:
        return
    if look.episode.phase in GIVING:
        given = round(look.picture.infusion.given_ml)
        yield Wish(since, Stopped("suspected reaction", given))
        return
    yield from _next_step(look, since)
    yield _observe(look, since)
    if len(look.episode.reaction_steps) >= len(STEPS):
        outcome = OUTCOMES[look.happens(0.5, "outcome")]
        closed = since + look.lag("closed", 70, 110)
        yield Wish(closed, ReactionClosed(outcome), by=look.shift.charge.staff_id)


def _next_step(look: Look, since: datetime) -> Iterator[Wish]:
    done = look.episode.reaction_steps
    if len(done) >= len(STEPS):
        return
    last = max([since, *(at for at, _ in done)])
    yield Wish(last + look.lag(f"step {len(done)}", 1, 5), ReactionStep(STEPS[len(done)]))


def _observe(look: Look, since: datetime) -> Wish:
    last = max([since - EVERY, *look.sets])
    return Wish(last + EVERY + timedelta(minutes=1), signs_now(look))
