"""Cover: who answers for a nurse's units at an instant, the nurse or whoever covers for them.

All covers handed to a function here are of one ward: somebody can be covered on one ward and at
work on another. Instants are UTC; a cover is in force from `from_at` until just before its end.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Cover:
    """`covering_id` answers for the units of `covered_id` on a ward; `ended_at`: ended early."""

    id: str
    ward_id: str
    covering_id: str
    covered_id: str
    from_at: datetime
    until_at: datetime
    recorded_at: datetime
    recorded_by: str
    ended_at: datetime | None = None
    ended_by: str | None = None

    @property
    def over_at(self) -> datetime:
        """The instant from which it is in force no more."""
        return self.until_at if self.ended_at is None else min(self.until_at, self.ended_at)

    def in_force(self, at: datetime) -> bool:
        """Whether it is in force at an instant."""
        return self.from_at <= at < self.over_at

    def overlaps(self, from_at: datetime, until_at: datetime) -> bool:
        """Whether it is in force at any instant of a period, the end not included."""
        return max(self.from_at, from_at) < min(self.over_at, until_at)


@dataclass(frozen=True, slots=True)
class Absence:
    """A planned break of somebody on duty."""

    staff_id: str
    from_at: datetime
    until_at: datetime


@dataclass(frozen=True, slots=True)
class Gap:
    """Nobody is there for the units of `nurse_id`: `answering_id` is on a break until `until_at`.

    The two are the same person where nobody covers.
    """

    nurse_id: str
    answering_id: str
    until_at: datetime


def who_answers(nurse_id: str, covers: Iterable[Cover], at: datetime) -> str:
    """Answer who has the units of a nurse at an instant.

    Whoever covers for somebody who covers has the units of both. In a circle everybody keeps
    their own; entering one is refused, so this is for facts that came from elsewhere.
    """
    following = {one.covered_id: one.covering_id for one in covers if one.in_force(at)}
    passed, present = {nurse_id}, nurse_id
    while present in following:
        present = following[present]
        if present in passed:
            return nurse_id
        passed.add(present)
    return present


def covered_by(nurse_id: str, covers: Iterable[Cover], at: datetime) -> frozenset[str]:
    """Answer for whom a nurse answers at an instant, the nurse's own units not counted."""
    listed = tuple(covers)
    covered = {one.covered_id for one in listed if one.in_force(at)} - {nurse_id}
    return frozenset(one for one in covered if who_answers(one, listed, at) == nurse_id)


def known_covers(covers: Iterable[Cover], at: datetime) -> tuple[Cover, ...]:
    """Answer the covers as they had been entered by an instant.

    One that was ended later stood with the end it was entered with, unless another that had been
    entered by then was to take its place.
    """
    entered = [one for one in covers if one.recorded_at <= at]
    taking = {(one.ward_id, one.covered_id, one.from_at) for one in entered}
    return tuple(
        one
        if one.ended_at is None
        or one.ended_at <= at
        or (one.ward_id, one.covered_id, one.ended_at) in taking
        else replace(one, ended_at=None, ended_by=None)
        for one in entered
    )


def closes_circle(covers: Iterable[Cover], new: Cover) -> bool:
    """Whether with `new` two people would, at some instant or by turns in it, cover each other."""
    meanwhile = [one for one in covers if one.overlaps(new.from_at, new.over_at)]
    reached, fresh = {new.covering_id}, {new.covering_id}
    while fresh:
        fresh = {one.covering_id for one in meanwhile if one.covered_id in fresh} - reached
        reached |= fresh
    return new.covered_id in reached


def next_absence(absences: Iterable[Absence], staff_id: str, after: datetime) -> Absence | None:
    """Answer the break of somebody that is on or comes next, None where none is planned."""
    theirs = (one for one in absences if one.staff_id == staff_id and one.until_at > after)
    return min(theirs, key=lambda one: one.from_at, default=None)


def gaps(
    nurses: Iterable[str], absences: Iterable[Absence], covers: Iterable[Cover], at: datetime
) -> tuple[Gap, ...]:
    """Answer for whose units nobody is there at an instant.

    `nurses` are those who have units that are under way.
    """
    away = {one.staff_id: one.until_at for one in absences if one.from_at <= at < one.until_at}
    listed = tuple(covers)
    answering = {one: who_answers(one, listed, at) for one in sorted(set(nurses))}
    return tuple(Gap(one, who, away[who]) for one, who in answering.items() if who in away)
