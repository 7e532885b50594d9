"""A suspected reaction: the unit is stopped, each step ticked, signs taken, then it is closed."""

from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.running import SYMPTOMS
from seed_demo.year.lots import minutes
from seed_demo.year.telling import Telling
from server.domain.payloads import ReactionClosed, ReactionStep, ReactionSuspected, Stopped
from server.domain.payloads.reaction import RECHECK_IDENTITY
from server.domain.words import Component, Recheck

ODDS: Final = {Component.PLATELETS: 0.009}
USUAL: Final = 0.004
WARMER_C: Final = 1.4


def is_suspected(telling: Telling) -> bool:
    """Whether somebody will suspect a reaction with this unit."""
    return telling.rng.random() < ODDS.get(telling.request.component, USUAL)


def react(telling: Telling, started: datetime, empty: datetime) -> datetime:
    """Tell a unit from its start to the end of the suspicion; when it was stopped."""
    rng, policy = telling.rng, telling.work.policy
    since = min(started + minutes(rng, 17, 55), empty - timedelta(minutes=2))
    telling.took_signs(started + timedelta(minutes=15))
    telling.did(since, ReactionSuspected(rng.choice(SYMPTOMS)))
    ended = since + minutes(rng, 0.3, 1.5)
    telling.did(ended, Stopped("suspected reaction", telling.read_ml(ended)))
    _work_through(telling, ended)
    closed = since + minutes(rng, 75, 115)
    at, warmer = since + timedelta(minutes=2), WARMER_C
    while at < closed:
        telling.did(at, telling.signs(at, warmer), telling.whoever(at))
        at += policy.reaction_every + minutes(rng, -1, 5.4)
        warmer *= 0.7
    outcome = rng.choice(policy.reaction_outcomes)
    telling.did(closed, ReactionClosed(outcome), telling.turn.charge)
    return ended


def _work_through(telling: Telling, at: datetime) -> None:
    for slug in telling.work.policy.reaction_steps:
        at += minutes(telling.rng, 0.5, 4)
        result = Recheck.AGREES if slug == RECHECK_IDENTITY else None
        telling.did(at, ReactionStep(slug, result))
