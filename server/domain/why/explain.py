"""Why one limit of one unit was not kept, and what would have kept it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.breaches import Breach
from server.domain.picture import Case
from server.domain.why.attempt import Act, Asked, Attempt
from server.domain.why.chain import chain_of, says_why
from server.domain.why.earlier import Avoided, acts_that_keep, key_of
from server.domain.why.link import Link
from server.domain.why.looks_people import in_the_way
from server.domain.why.rerun import Key, live_events, rerun, retold
from server.domain.why.steady import slow_of, steady_rate, was_in_at
from server.domain.why.surroundings import NOTHING_AROUND, Surroundings
from server.domain.why.telling import Telling
from server.domain.why.useless import Useless, issue_in_vain, rate_in_vain, tried_in_vain
from server.domain.words import ClockName
from server.domain.workload.period import Period

_FROM_THE_ISSUE: Final = frozenset({ClockName.START, ClockName.RETURN, ClockName.FINISH})
_NEEDS_A_NURSE: Final = frozenset({Act.START, Act.SET, Act.END, Act.SET_CHANGE})


@dataclass(frozen=True, slots=True)
class Why:
    """The facts behind a limit that was not kept, and the acts that would have kept it.

    `breach` None: the limit was kept; where that was charted only after it, the chain says so.
    `useless` are acts that were tried and would not have kept it. `asked` is the clock with the
    facts as they were when the question was put.
    """

    asked: Asked
    breach: Breach | None
    chain: tuple[Link, ...]
    avoided: tuple[Avoided, ...] = ()
    useless: tuple[Useless, ...] = ()

    @property
    def says_why(self) -> bool:
        """Whether the record holds anything beside what was owed and how it came out."""
        return says_why(self.chain)


def ask(case: Case, key: Key, now: datetime) -> Asked | None:
    """Answer the clock with the facts that count, None where the unit owes no such limit."""
    events = live_events(case)
    run = rerun(retold(case, events), now)
    found = None if run is None else run.clock(key)
    unowed = key[0] is ClockName.LATE_WATCH  # nothing meets a watch, and nobody can be late at it
    if run is None or found is None or found[0].limit_at is None or unowed:
        return None
    clock, state = found
    return Asked(clock, state, found[0].limit_at, events, run, now)


def near(asked: Asked) -> Period:
    """Answer the time in which surroundings matter: from what it was counted from to its limit."""
    episode, window = asked.run.facts.episode, Telling(asked, NOTHING_AROUND).window
    begun = (episode.issued_at, episode.started_at, window.from_at)
    before = [at for at in begun if at is not None and asked.clock.name in _FROM_THE_ISSUE]
    return Period(min(before, default=window.from_at), window.until_at)


def explain(asked: Asked, around: Surroundings = NOTHING_AROUND) -> Why:
    """Answer why a limit was not kept; of one that was kept the facts that showed it as passed."""
    telling = Telling(asked, around)
    breach = asked.run.breaches.get(key_of(asked))
    if breach is None:
        return Why(asked, None, chain_of(telling))
    tried = (*acts_that_keep(asked), *_rates(asked))
    avoided = tuple(one for one in tried if isinstance(one, Avoided))
    helped = {one.act for one in avoided}
    vain = (_in_vain(asked, one) for one in tried if not isinstance(one, Avoided))
    return Why(
        asked=asked,
        breach=breach,
        chain=chain_of(telling),
        avoided=tuple(_with_its_way(telling, one) for one in avoided),
        useless=(*(one for one in vain if one.act not in helped), *issue_in_vain(asked)),
    )


def _rates(asked: Asked) -> Iterator[Avoided | Useless]:
    """Of a unit that was not in by its limit: the steady rate, or why none would have done."""
    slow = slow_of(asked) if asked.clock.name is ClockName.FINISH else None
    if slow is not None:
        found = None if was_in_at(slow) is not None else steady_rate(slow)
        yield rate_in_vain(slow) if found is None else found


def _in_vain(asked: Asked, tried: Attempt | Useless) -> Useless:
    return tried if isinstance(tried, Useless) else tried_in_vain(asked, tried)


def _with_its_way(telling: Telling, avoided: Avoided) -> Avoided:
    """The same with what stood in the way of its nurse at that time."""
    if avoided.act not in _NEEDS_A_NURSE:
        return avoided
    return replace(avoided, in_the_way=tuple(in_the_way(telling, avoided.at)))
