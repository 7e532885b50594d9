"""What would have kept a limit: how many whole minutes earlier, proven by the engine.

For each act that could have avoided a breach: the smallest number of minutes with which the engine,
run again on the facts with the act moved, finds the breach gone, while with one minute fewer it
still finds it. Nothing is reckoned from limits. See `search` for when the smallest is certain.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from server.domain.breaches import Breach
from server.domain.gate import gaps_before_start
from server.domain.infusion import volume_given
from server.domain.why.acts import attempts
from server.domain.why.attempt import Act, Asked, Attempt, Way
from server.domain.why.moving import Told
from server.domain.why.rerun import Key, Rerun, rerun, retold
from server.domain.why.search import smallest
from server.domain.words import Kind


@dataclass(frozen=True, slots=True)
class Along:
    """A step before the start that would have come earlier with it, and when at the latest."""

    kind: Kind
    at: datetime


@dataclass(frozen=True, slots=True)
class Avoided:
    """An act that would have kept the limit at `at`, and not one step nearer to where it was.

    `was_at` is when it was done, None where it was not; `minutes` are the whole ones between the
    two, None for an act that was not done or only lacked a sign. `along` are steps that would have
    moved with it. `also_kept` are other limits that would have been kept with it, `then_passed`
    those that it would have cost, `refused` what would have stood against the start. `left_ml` is
    what an end at that instant would have left, `rate` the steady rate that would have ended at
    `at`; `in_the_way` says what its nurse was doing then.
    """

    act: Act
    way: Way
    at: datetime
    was_at: datetime | None = None
    minutes: int | None = None
    event_id: str | None = None
    along: tuple[Along, ...] = ()
    also_kept: tuple[Key, ...] = ()
    then_passed: tuple[Breach, ...] = ()
    refused: tuple[str, ...] = ()
    left_ml: float | None = None
    rate: "Rate | None" = None
    in_the_way: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rate:
    """A steady rate from `from_at` on, beside the highest permitted one. Rates in mL/h.

    `in_by_limit_ml` of `volume_ml` would have run in by the limit with it.
    """

    from_at: datetime
    rate_ml_h: float
    permitted_ml_h: float
    volume_ml: float
    in_by_limit_ml: float


def acts_that_keep(asked: Asked) -> Iterator[Avoided | Attempt]:
    """Answer each act that would have kept the limit, and each that was tried and would not."""
    for attempt in attempts(asked):
        steps = smallest(partial(is_kept, asked, attempt), attempt.most)
        yield attempt if steps is None else _avoided(asked, attempt, steps)


def run_of(asked: Asked, told: Told) -> Rerun | None:
    """Answer the engine's run on these facts, None where the pathway does not allow them."""
    return rerun(retold(asked.run.case, told), asked.now)


def key_of(asked: Asked) -> Key:
    """Which clock is asked about."""
    return asked.clock.name, asked.clock.n


def beside(asked: Asked, run: Rerun) -> tuple[tuple[Key, ...], tuple[Breach, ...]]:
    """Answer which other limits a run keeps that were not kept, and which it does not that were."""
    before, after = asked.run.breaches, run.breaches
    kept = tuple(key for key in before if key not in after and key != key_of(asked))
    return kept, tuple(breach for key, breach in after.items() if key not in before)


def is_kept(asked: Asked, attempt: Attempt, steps: int) -> bool:
    """Whether the engine finds the limit kept with the act moved by so many steps."""
    run = run_of(asked, attempt.tell(steps))
    return run is not None and key_of(asked) not in run.breaches


def _avoided(asked: Asked, attempt: Attempt, steps: int) -> Avoided:
    told = attempt.tell(steps)
    run = run_of(asked, told)
    assert run is not None  # noqa: S101 - it was found to be kept
    kept, passed = beside(asked, run)
    return Avoided(
        act=attempt.act,
        way=_way(asked, attempt, steps),
        at=attempt.at(steps),
        was_at=None if attempt.event is None else attempt.event.happened_at,
        minutes=steps if attempt.way in (Way.EARLIER, Way.LATER) else None,
        event_id=None if attempt.event is None else attempt.event.id,
        along=_along(asked.events, told, attempt),
        also_kept=kept,
        then_passed=passed,
        refused=_refused(asked, run, attempt),
        left_ml=_left_ml(asked, attempt, steps),
    )


def _way(asked: Asked, attempt: Attempt, steps: int) -> Way:
    """What would have kept it up to this very instant had no latest one so far."""
    no_latest = attempt.way is Way.BY and attempt.at(steps) >= asked.now
    return Way.ANY if no_latest else attempt.way


def _along(before: Told, after: Told, attempt: Attempt) -> tuple[Along, ...]:
    """What the start, or the issue, took along on the way to the start."""
    if attempt.act not in (Act.START, Act.ISSUE) or attempt.event is None:
        return ()
    start = next(event.happened_at for event in before if event.kind is Kind.STARTED)
    was = {event.id: event.happened_at for event in before if event.happened_at <= start}
    return tuple(
        Along(event.kind, event.happened_at)
        for event in after
        if was.get(event.id, event.happened_at) != event.happened_at
        and event.id != attempt.event.id
        and event.kind is not Kind.STARTED
    )


def _refused(asked: Asked, run: Rerun, attempt: Attempt) -> tuple[str, ...]:
    """What the local policy would have had against the start then, and had nothing before."""
    start, was = run.facts.episode.started_at, asked.run.facts.episode.started_at
    if attempt.act is not Act.START or start is None or was is None:
        return ()
    known = {gap.detail for gap in gaps_before_start(asked.run.facts, was)}
    gaps = gaps_before_start(run.facts, start)
    return tuple(gap.detail for gap in gaps if gap.detail not in known)


def _left_ml(asked: Asked, attempt: Attempt, steps: int) -> float | None:
    """How much an end at another time would have left, as rates and readings say."""
    episode = asked.run.facts.episode
    if attempt.act is not Act.END or episode.volume_ml is None:
        return None
    return (
        episode.volume_ml
        - volume_given(episode.flow, episode.volume_ml, attempt.at(steps)).given_ml
    )
