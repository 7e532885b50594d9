"""The list rule: urgent units first, each at the earliest slot, and fair to whoever comes second.

It needs no solver and takes milliseconds. Of units that can wait the one with the earliest last
possible slot goes first; the first of two units of a patient is not put so late that the second
finds no slot. The same problem gives the same plan.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from server.domain.plan.alone import candidates
from server.domain.plan.diary import Diary
from server.domain.plan.laying import Draft, draft, first_free, lay, task_pieces, unit_pieces
from server.domain.plan.people import seconds, starters
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.score import Worth
from server.domain.plan.way import (
    FollowUp,
    Placing,
    check_period,
    end_at,
    follow_ups,
    in_sequence,
    nurse_period,
)
from server.domain.plan.weights import can_wait, weight

Slots = Mapping[str, Sequence[datetime]]


def list_rule(
    problem: Problem, kept: Mapping[str, Placing] | None = None, slots: Slots | None = None
) -> Draft:
    """Answer a plan in which every start keeps every rule; units in `kept` stay where they are.

    `slots` are the instants that each unit may take, by its id; without them, all that break
    nothing by themselves. A unit for which no slot is left is missing from the plan.
    """
    return draft(problem, ListRule(problem, slots).placings(kept or {}))


class ListRule:
    """One run of the list rule: what was placed so far, and who is busy by it."""

    def __init__(self, problem: Problem, slots: Slots | None = None) -> None:
        """Lay first what units under way ask for."""
        self.problem = problem
        self.worth = Worth.of(problem)
        self.slots = slots or {one.episode_id: candidates(problem, one) for one in problem.units}
        self.latest = latest_checks(problem, self.slots)
        # One diary knows starts only; the other also knows the checks laid so far.
        self.starts, self.everything = Diary(problem), Diary(problem)
        lay(self.everything, task_pieces(problem), {})
        self.placed: dict[str, Placing] = {}

    def placings(self, kept: Mapping[str, Placing]) -> dict[str, Placing]:
        """Place what is kept, then unit by unit the most urgent whose turn has come."""
        self.keep(kept)
        for unit in self._turns(kept):
            placing = self.place(unit)
            if placing is not None:
                self._write(unit, placing)
        return self.placed

    def keep(self, kept: Mapping[str, Placing]) -> None:
        """Write in what is placed already."""
        for unit in self.problem.units:
            if unit.episode_id in kept:
                self._write(unit, kept[unit.episode_id])

    def place(self, unit: PlanUnit) -> Placing | None:
        """Answer the earliest place at which nothing is in the way, of which the kindest people.

        A place at which checks of others lie is taken only where there is none without.
        """
        slots = [at for at in self.slots[unit.episode_id] if self._follows(unit, at)]
        return self._first(unit, self.everything, slots) or self._first(unit, self.starts, slots)

    def _turns(self, kept: Mapping[str, Placing]) -> Iterator[PlanUnit]:
        """Urgent units first; a unit comes after the one that it waits for."""
        waiting = [unit for unit in self.problem.units if unit.episode_id not in kept]
        yield from in_sequence(sorted(waiting, key=self._turn))

    def _turn(self, unit: PlanUnit) -> tuple[object, ...]:
        latest = self.latest.get(unit.episode_id, self.problem.until_at)
        first = self.worth.earliest[unit.episode_id]
        is_free = unit.pin.check_at is None
        return (is_free, can_wait(unit), -weight(unit), unit.wanted_by or latest, first, unit.bed)

    def _follows(self, unit: PlanUnit, at: datetime) -> bool:
        """Whether the unit before it is planned and over, and one kept after it has its room."""
        end = end_at(unit, self.problem.terms, at)
        for after in self.problem.units:
            kept = self.placed.get(after.episode_id) if after.after == unit.episode_id else None
            if kept is not None and end + after.gap > kept.check_at:
                return False
        before = _unit(self.problem, unit.after)
        if before is None:
            return True
        placing = self.placed.get(before.episode_id)
        if placing is None:
            return False
        return at >= end_at(before, self.problem.terms, placing.check_at) + unit.gap

    def _first(self, unit: PlanUnit, diary: Diary, slots: Sequence[datetime]) -> Placing | None:
        """Answer the first of some slots with people who are free, those that cost least first."""
        owed = follow_ups(unit, self.problem.terms)
        for at in sorted(slots, key=lambda at: self._cost(unit, at)):
            if self.starts.full(unit, at):
                continue
            found = min(self._pairs(unit, diary, at, owed), key=lambda pair: pair[0], default=None)
            if found is not None:
                return found[1]
        return None

    def _cost(self, unit: PlanUnit, at: datetime) -> tuple[object, ...]:
        latest = self.latest.get(unit.episode_id, at)
        return (at > latest, self.worth.night(unit, at), at)

    def _pairs(
        self, unit: PlanUnit, diary: Diary, at: datetime, owed: Sequence[FollowUp]
    ) -> Iterator[tuple[tuple[object, ...], Placing]]:
        """Every nurse who is free with the second person who has least to do."""
        check = check_period(self.problem.terms, at)
        others = [
            one
            for one in seconds(self.problem, unit, at)
            if one is None or diary.is_free(one, check)
        ]
        others.sort(key=lambda one: (diary.load[one or ""], one or ""))
        period = nurse_period(self.problem, unit, at)
        for nurse in starters(self.problem, unit, at):
            second = [one for one in others if one != nurse][:1]
            if second and diary.is_free(nurse, period):
                placing = Placing(at, nurse, second[0])
                yield self._kindness(unit, placing, owed), placing

    def _kindness(
        self, unit: PlanUnit, placing: Placing, owed: Sequence[FollowUp]
    ) -> tuple[object, ...]:
        pieces = unit_pieces(unit, placing, owed)
        missed = [one.length for one in pieces if first_free(self.everything, one) is None]
        nurse = placing.nurse_id
        stranger = self.worth.stranger(unit, nurse)
        return (sum(missed, timedelta(0)), stranger, self.everything.load[nurse], nurse)

    def _write(self, unit: PlanUnit, placing: Placing) -> None:
        self.placed[unit.episode_id] = placing
        self.starts.place(unit, placing)
        self.everything.place(unit, placing)
        pieces = list(unit_pieces(unit, placing, follow_ups(unit, self.problem.terms)))
        for piece in pieces:
            at = first_free(self.everything, piece)
            if at is not None:
                self.everything.write(piece.staff_id, piece.period(at))


def latest_checks(problem: Problem, slots: Mapping[str, Sequence[datetime]]) -> dict[str, datetime]:
    """Answer, by episode id, the last slot that leaves room for those that follow.

    Units without any slot are missing, and nobody makes room for them.
    """
    followers = {unit.after: unit for unit in problem.units if unit.after is not None}
    latest: dict[str, datetime] = {}
    for unit in reversed(in_sequence(problem.units)):
        possible = slots.get(unit.episode_id, ())
        after = followers.get(unit.episode_id)
        if after is not None and after.episode_id in latest:
            room = latest[after.episode_id] - after.gap
            possible = [at for at in possible if end_at(unit, problem.terms, at) <= room]
        if possible:
            latest[unit.episode_id] = possible[-1]
    return latest


def _unit(problem: Problem, episode_id: str | None) -> PlanUnit | None:
    return next((one for one in problem.units if one.episode_id == episode_id), None)
