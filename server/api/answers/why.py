"""Why a limit was not kept, as answered."""

from server.api.answers.clocks import BreachAnswer, breach_answer
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.why.attempt import Act, Way
from server.domain.why.earlier import Avoided
from server.domain.why.explain import Why
from server.domain.why.link import Fact, Link
from server.domain.why.useless import Useless
from server.domain.why.wording import beside_words, would_have
from server.domain.words import ClockName, ClockState


class LinkAnswer(Given):
    """One fact of the chain; the ids name what it rests on."""

    fact: Fact
    from_at: Moment
    until_at: Moment | None
    words: str
    episode_ids: list[str]
    event_ids: list[str]
    shift_id: str | None


class ClockKeyAnswer(Given):
    """Which clock of the unit."""

    clock: ClockName
    n: int


class AvoidedAnswer(Given):
    """An act that would have kept the limit at `at`, and not one step nearer to `was_at`.

    `minutes` is by how many whole minutes; null where the act was not done, lacked a sign or is a
    rate. `then_passed` are limits that it would have cost, `also_kept` those it would have kept.
    """

    act: Act
    way: Way
    at: Moment
    was_at: Moment | None
    minutes: int | None
    event_id: str | None
    rate_ml_h: float | None
    permitted_rate_ml_h: float | None
    left_ml: float | None
    also_kept: list[ClockKeyAnswer]
    then_passed: list[BreachAnswer]
    words: str
    beside: list[str]


class UselessAnswer(Given):
    """An act that would not have kept the limit, and why not."""

    act: Act
    why: str


class WhyAnswer(Given):
    """The chain of facts behind a limit, earliest first, and what would have kept it.

    `breach` is null where the limit was kept after all. `says_why` is false where the record holds
    nothing beside what was owed and how it came out. It is never a cause: somebody gives that.
    """

    clock: ClockName
    n: int
    limit_at: Moment
    state: ClockState
    breach: BreachAnswer | None
    says_why: bool
    chain: list[LinkAnswer]
    avoided_by: list[AvoidedAnswer]
    not_avoided_by: list[UselessAnswer]


def why_answer(why: Why) -> WhyAnswer:
    """One limit with its why."""
    clock = why.asked.clock
    return WhyAnswer(
        clock=clock.name,
        n=clock.n,
        limit_at=why.asked.limit_at,
        state=why.asked.state,
        breach=None if why.breach is None else breach_answer(why.breach),
        says_why=why.says_why,
        chain=[_link(link) for link in why.chain],
        avoided_by=[_avoided(why, one) for one in why.avoided],
        not_avoided_by=[_useless(one) for one in why.useless],
    )


def _link(link: Link) -> LinkAnswer:
    return LinkAnswer(
        fact=link.fact,
        from_at=link.from_at,
        until_at=link.until_at,
        words=link.words,
        episode_ids=list(link.episode_ids),
        event_ids=list(link.event_ids),
        shift_id=link.shift_id,
    )


def _avoided(why: Why, one: Avoided) -> AvoidedAnswer:
    return AvoidedAnswer(
        act=one.act,
        way=one.way,
        at=one.at,
        was_at=one.was_at,
        minutes=one.minutes,
        event_id=one.event_id,
        rate_ml_h=None if one.rate is None else one.rate.rate_ml_h,
        permitted_rate_ml_h=None if one.rate is None else one.rate.permitted_ml_h,
        left_ml=one.left_ml,
        also_kept=[ClockKeyAnswer(clock=clock, n=n) for clock, n in one.also_kept],
        then_passed=[breach_answer(breach) for breach in one.then_passed],
        words=would_have(why.asked, one),
        beside=list(beside_words(why.asked, one)),
    )


def _useless(one: Useless) -> UselessAnswer:
    return UselessAnswer(act=one.act, why=one.why)
