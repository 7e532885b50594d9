"""Which bag a unit's episode holds, and from when until when: one bag is for one patient."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations, groupby
from typing import Final

from server.domain.episode import Episode
from server.domain.labels.unit_numbers import plain_unit_number, split_product
from server.domain.words import Fate, Kind

MOVES_UNITS: Final = frozenset({Kind.ISSUED, Kind.RETURNED, Kind.FATE, Kind.VOIDED})
"""The kinds of fact that can give a bag to an episode, or take it away."""


@dataclass(frozen=True, slots=True)
class IssuedUnit:
    """A bag that was issued for an episode; `freed_at` is when it went back unused.

    The number is without blanks and in capitals. Product code and division are None where the
    issue did not name them: such a bag may be any pack of its number.
    """

    episode_id: str
    number: str
    product_code: str | None
    division: str | None
    issued_at: datetime
    freed_at: datetime | None = None


def issued_unit(episode: Episode) -> IssuedUnit | None:
    """Answer the bag of an episode, None before the issue and where the issue gave no number."""
    if episode.issued_at is None or episode.unit_number is None:
        return None
    code, own = split_product(episode.product_code) if episode.product_code else (None, None)
    number = plain_unit_number(episode.unit_number)
    return IssuedUnit(
        episode_id=episode.request.id,
        number="".join(number.split()).upper(),
        product_code=code,
        division=episode.division or own,
        issued_at=episode.issued_at,
        freed_at=_freed_at(episode),
    )


def is_held_twice(one: IssuedUnit, other: IssuedUnit) -> bool:
    """Whether two episodes hold one bag at the same time. Returned at an instant, it is free then.

    What an issue did not name cannot tell two packs apart, so that it counts as the same.
    """
    same = (
        one.number == other.number
        and _may_be_same(one.product_code, other.product_code)
        and _may_be_same(one.division, other.division)
    )
    return (
        same
        and _is_before(one.issued_at, other.freed_at)
        and _is_before(other.issued_at, one.freed_at)
    )


def held_at_once(units: Iterable[IssuedUnit]) -> tuple[tuple[IssuedUnit, IssuedUnit], ...]:
    """Answer the pairs of bags that may be one bag held by two episodes at the same time."""
    listed = sorted(units, key=lambda unit: (unit.number, unit.issued_at, unit.episode_id))
    of_number = groupby(listed, key=lambda unit: unit.number)
    pairs = (pair for _, group in of_number for pair in combinations(group, 2))
    return tuple(pair for pair in pairs if is_held_twice(*pair))


def _may_be_same(one: str | None, other: str | None) -> bool:
    return one is None or other is None or one == other


def _is_before(instant: datetime, end: datetime | None) -> bool:
    return end is None or instant < end


def _freed_at(episode: Episode) -> datetime | None:
    """When the bag went back to stock: one that was started or thrown away is never free again."""
    back = episode.fate is Fate.RETURNED and episode.started_at is None
    return episode.fate_at if back else None
