"""Chains of facts in short: what is said of a limit, with when and which kind."""

from typing import Any, Final

from server.domain.picture import Case
from server.domain.why.explain import Why, ask, explain
from server.domain.why.link import FRAME, Fact, Link
from server.domain.why.surroundings import NOTHING_AROUND, Other, Surroundings, other_of
from server.domain.why.wording import ACT, beside_words, would_have
from server.domain.words import ClockName
from tests.domain.builders import Fact as Told
from tests.domain.builders import at, case

NOW: Final = at(3 * 24 * 60)
NURSE: Final[dict[str, Any]] = {"nurse_id": "nurse-1"}


def why(
    given: Case, name: ClockName, n: int = 1, around: Surroundings = NOTHING_AROUND, now: Any = NOW
) -> Why:
    """Why a limit was not kept, looked at three days later."""
    asked = ask(given, (name, n), now)
    assert asked is not None
    return explain(asked, around)


def said(found: Why) -> list[tuple[str, Fact, str]]:
    """The whole chain."""
    return [(f"{one.from_at:%H:%M}", one.fact, one.words) for one in found.chain]


def reasons(found: Why) -> list[tuple[Fact, str]]:
    """The chain without its frame."""
    return [(one.fact, one.words) for one in found.chain if one.fact not in FRAME]


def links(found: Why, fact: Fact) -> list[Link]:
    """The links of one kind."""
    return [one for one in found.chain if one.fact is fact]


def acts(found: Why) -> list[tuple[str, ...]]:
    """What would have kept the limit: the act, how, and what else."""
    return [
        (ACT[one.act], would_have(found.asked, one), *beside_words(found.asked, one))
        for one in found.avoided
    ]


def vain(found: Why) -> list[tuple[str, str]]:
    """What would not have."""
    return [(ACT[one.act], one.why) for one in found.useless]


def other(bed: str, *facts: Told, nurse: str | None = "nurse-1", **fields: Any) -> Other:
    """Another unit of the ward, for another patient."""
    given = case(*facts, id=f"unit-{bed}", bed=bed, patient_id=f"p{bed}", nurse_id=nurse, **fields)
    return other_of(given)
