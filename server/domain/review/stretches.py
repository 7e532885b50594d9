"""What a review counts by: places of a chart on a ward, cut where the ward's clock is put.

A database knows no time zones that both engines share. Inside a stretch the clock of the ward lies
one distance from UTC, so that the hour of the ward's day is plain arithmetic there.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from itertools import pairwise
from typing import Final

from server.domain.clock import SECOND
from server.domain.workload.period import Period

_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of one place on a ward; its clock shows UTC plus `offset` all through it.

    `place` counts the days, weeks or months of a review from 0; several wards share them.
    """

    ward_id: str
    place: int
    period: Period
    offset: timedelta


def stretches_of(ward_id: str, places: Sequence[Period], zone: tzinfo) -> tuple[Stretch, ...]:
    """Answer the stretches of a ward's places, in order and without gaps inside a place."""
    return tuple(
        Stretch(ward_id, number, stretch, _offset(stretch.from_at, zone))
        for number, place in enumerate(places)
        for stretch in _cut(place, zone)
    )


def _cut(place: Period, zone: tzinfo) -> Iterator[Period]:
    edges = [place.from_at, *_puts(place, zone), place.until_at]
    return (Period(*edge) for edge in pairwise(edges))


def _puts(place: Period, zone: tzinfo) -> Iterator[datetime]:
    """The instants inside a period at which the clock of the zone is put forward or back."""
    at = place.from_at
    while at < place.until_at:
        later = min(at + _DAY, place.until_at)
        if _offset(at, zone) != _offset(later, zone):
            put = _first_after(at, later, zone)
            if put < place.until_at:
                yield put
        at = later


def _first_after(at: datetime, later: datetime, zone: tzinfo) -> datetime:
    """The first second from `at` to `later` at which the offset is no longer that of `at`."""
    before = at
    while later - before > SECOND:
        middle = before + (later - before) // (2 * SECOND) * SECOND
        if _offset(middle, zone) == _offset(at, zone):
            before = middle
        else:
            later = middle
    return later


def _offset(at: datetime, zone: tzinfo) -> timedelta:
    offset = at.astimezone(zone).utcoffset()
    assert offset is not None  # noqa: S101 - an instant in a zone has one
    return offset


class PlaceFinder:
    """Answers in which place of its ward an instant lies."""

    def __init__(self, stretches: Sequence[Stretch]) -> None:
        self._by_ward: dict[str, list[Stretch]] = defaultdict(list)
        for one in sorted(stretches, key=_from):
            self._by_ward[one.ward_id].append(one)

    def place_of(self, ward_id: str, at: datetime) -> int | None:
        """The number of the place, None where the instant lies in none of the ward's."""
        theirs = self._by_ward.get(ward_id, [])
        begun = bisect_right(theirs, at, key=_from)
        last = theirs[begun - 1] if begun else None
        return last.place if last is not None and last.period.contains(at) else None


def _from(stretch: Stretch) -> datetime:
    return stretch.period.from_at
