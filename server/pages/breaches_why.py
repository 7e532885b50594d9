"""Why a limit was not kept, as the page of a breach shows it: `breaches/why.html`."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.why.explain import Why
from server.domain.why.link import FRAME, Link
from server.domain.why.wording import ACT, beside_words, would_have
from server.domain.wording import wall_time


@dataclass(frozen=True, slots=True)
class LinkView:
    """One fact: its time as shown and as machines read it; `frame`: it says no why by itself."""

    time: str
    at: datetime
    words: str
    frame: bool


@dataclass(frozen=True, slots=True)
class ActView:
    """One act: how it would have kept the limit, and what else would then have been so."""

    name: str
    would_have: str
    beside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhyView:
    """The chain, the acts that would have kept the limit, and (act, why) of those that would not.

    `kept`: the limit was kept, so that nothing would have had to be another. `says_why` is false
    where the chain is the frame alone.
    """

    links: tuple[LinkView, ...]
    says_why: bool
    kept: bool
    acts: tuple[ActView, ...]
    useless: tuple[tuple[str, str], ...]


def why_view(why: Why) -> WhyView:
    """Answer the view of what `explain_breach` answers; times are the ward's."""
    return WhyView(
        links=tuple(_link_view(why, link) for link in why.chain),
        says_why=why.says_why,
        kept=why.breach is None,
        acts=tuple(
            ActView(ACT[one.act], would_have(why.asked, one), tuple(beside_words(why.asked, one)))
            for one in why.avoided
        ),
        useless=tuple((ACT[one.act], one.why) for one in why.useless),
    )


def _link_view(why: Why, link: Link) -> LinkView:
    time = wall_time(link.from_at, why.asked.run.case.zone, why.asked.limit_at)
    return LinkView(time, link.from_at, link.words, link.fact in FRAME)
