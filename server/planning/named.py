"""Who starts what at which slot: one choice for each unit, person and slot.

The model of intervals chooses a nurse and a slot apart. Here they are one choice, so that all that
keeps one person from doing two things at once is a row, and the relaxation of the rows comes close
to what plans cost. Second checkers are chosen by instant: of units that begin together it makes no
difference who checks which. Of the work that follows a start only what can lie in few places is
told, as the rest nearly always finds room; where it does not, its pieces are told as well.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.laying import Key, task_pieces
from server.domain.plan.problem import PlanUnit
from server.domain.plan.score import fair_shares
from server.domain.plan.way import FollowUp, Placing, check_period, follow_ups, nurse_period
from server.domain.plan.weights import BEYOND_SHARE
from server.domain.workload.period import Period
from server.planning.model import Place, WardModel
from server.planning.values import Answer, Sum, Variable, total

FEW: Final = 2
_MINUTE: Final = timedelta(minutes=1)

Spot = tuple[str, datetime]
Places = list[tuple[Period, Variable]]
Busy = defaultdict[str, Places]
# A piece of work and the start that it follows; None: of a unit under way.
Owed = tuple[Key, Variable | None]


class Named:
    """The people of a model that only counts them.

    `told`: pieces that found no room before; None: every piece is told.
    """

    def __init__(self, model: WardModel, told: Collection[Key] | None = ()) -> None:
        """Make the choices and keep everybody from doing two things at once."""
        self.model, self._told = model, told
        # What somebody does when, and what keeps them from beginning a start or a check.
        self._busy: Busy = defaultdict(list)
        self._kept: Busy = defaultdict(list)
        self.starts: dict[str, dict[Spot, Variable]] = {}
        self.missed: list[Sum] = []
        self._lying: list[tuple[list[Owed], Places]] = []
        for place in model.places:
            self.starts[place.unit.episode_id] = self._starts(place)
        self.seconds = self._seconds() if model.problem.terms.checkers > 1 else {}
        self._follow_ups()
        self._tasks()
        self._one_at_a_time()

    @property
    def overload(self) -> Sum:
        """Minutes of work that nobody is free for, of what is told."""
        return total(self.missed)

    def changed(self, place: Place) -> Sum | int:
        """1 where a unit is placed otherwise than in the plan in force."""
        old = self.model.problem.accepted.get(place.unit.episode_id)
        if old is None:
            return 0
        kept = [self.starts[place.unit.episode_id].get((old.nurse_id, old.check_at))]
        if self.seconds or old.second_id is not None:
            kept.append(self.seconds.get((old.second_id or "", old.check_at)))
        choices = [one for one in kept if one is not None]
        if len(choices) < len(kept):
            return 1 - place.left_out
        same = self.model.schedule.choice()
        for one in choices:
            self.model.schedule.model.add_implication(same, one)
        return 1 - place.left_out - same

    def beyond_share(self) -> Sum:
        """Starts beyond each nurse's share."""
        begun = defaultdict[str, list[Variable]](list)
        for starts in self.starts.values():
            for (who, _), one in starts.items():
                begun[who].append(one)
        beyond: list[Variable] = []
        for who, share in fair_shares(self.model.problem).items():
            if len(begun[who]) > share:
                more = self.model.schedule.between(0, len(begun[who]) - share)
                self.model.schedule.model.add(more >= total(begun[who]) - share)
                beyond.append(more)
        return BEYOND_SHARE * total(beyond)

    def placings(self, answer: Answer) -> dict[str, Placing]:
        """Read the places of units from an answer."""
        spots = {
            episode_id: spot
            for episode_id, starts in self.starts.items()
            for spot, one in starts.items()
            if answer[one]
        }
        free = defaultdict[datetime, list[str]](list)
        for (who, at), one in self.seconds.items():
            if answer[one]:
                free[at].append(who)
        units = [one.unit for one in self.model.places if one.unit.episode_id in spots]
        # Who was asked for is taken first, then who was it in the plan in force.
        asked = {unit.episode_id: self._asked(unit, spots[unit.episode_id]) for unit in units}
        units.sort(key=lambda one: (one.pin.second_id is None, asked[one.episode_id] is None))
        found: dict[str, Placing] = {}
        for unit in units:
            who, at = spots[unit.episode_id]
            second = _taken(free[at], asked[unit.episode_id])
            found[unit.episode_id] = Placing(at, who, second)
        return found

    def laid(self, answer: Answer) -> dict[Key, datetime]:
        """Read from an answer where the pieces lie that are told; what is missed lies nowhere."""
        found: dict[Key, datetime] = {}
        for owed, places in self._lying:
            keys = (key for key, start in owed if start is None or answer[start])
            taken = (period.from_at for period, one in places if answer[one])
            found.update(zip(keys, taken, strict=False))
        return found

    def _asked(self, unit: PlanUnit, spot: Spot) -> str | None:
        old = self.model.problem.accepted.get(unit.episode_id)
        is_same = old is not None and (old.nurse_id, old.check_at) == spot
        return unit.pin.second_id or (old.second_id if old is not None and is_same else None)

    def _starts(self, place: Place) -> dict[Spot, Variable]:
        """One choice for each slot and nurse; a slot is taken by one of them."""
        model, openings = self.model, self.model.openings
        owed = follow_ups(place.unit, model.problem.terms)
        made: dict[Spot, Variable] = {}
        for at, slot in place.slots.items():
            able = [
                who
                for who in openings.starters(place.unit)
                if openings.starts(who, place.unit, at) and self._fits(who, at, owed)
            ]
            period = nurse_period(model.problem, place.unit, at)
            choices = {(who, at): model.schedule.choice() for who in able}
            for (who, _), one in choices.items():
                self._write(who, period, one)
            model.schedule.model.add(total(choices.values()) == slot)
            made |= choices
        for who, own in place.nurses.items():
            mine = [one for (other, _), one in made.items() if other == who]
            model.schedule.model.add(total(mine) == own)
        return made

    def _fits(self, who: str, at: datetime, owed: Iterable[FollowUp]) -> bool:
        """Whether nothing fixed is in the way of what follows, where none of it may be missed."""
        return not self.model.is_filled or all(
            any(self._is_free(who, _after(at, offset, one)) for offset in one.offsets)
            for one in owed
        )

    def _seconds(self) -> dict[Spot, Variable]:
        """As many second checkers at an instant as units."""
        model, made = self.model, dict[Spot, Variable]()
        begun = defaultdict[datetime, list[Place]](list)
        for place in model.places:
            for at in place.slots:
                begun[at].append(place)
        for at, places in sorted(begun.items()):
            able = [who for who in sorted(model.openings.shifts) if model.openings.checks(who, at)]
            checking = {who: model.schedule.choice() for who in able}
            for who, one in checking.items():
                self._write(who, check_period(model.problem.terms, at), one)
                made[who, at] = one
            slots = [place.slots[at] for place in places]
            model.schedule.model.add(total(checking.values()) == total(slots))
            self._asked_for(at, places, checking)
        return made

    def _asked_for(
        self, at: datetime, places: Iterable[Place], checking: Mapping[str, Variable]
    ) -> None:
        """Who was asked for as second person checks what they were asked for."""
        asked = defaultdict[str, list[Variable]](list)
        for place in places:
            if place.unit.pin.second_id is not None:
                asked[place.unit.pin.second_id].append(place.slots[at])
        for who, wanting in asked.items():
            self.model.schedule.model.add(total(wanting) <= checking.get(who, 0))

    def _follow_ups(self) -> None:
        """What follows starts of one person at one instant and may lie in the same places."""
        groups = defaultdict[tuple[str, tuple[Period, ...]], list[tuple[Key, Variable]]](list)
        nexts: dict[Spot, tuple[Period, ...]] = {}
        for place in self.model.places:
            for owed in self._owed(place.unit):
                key = (place.unit.episode_id, owed.work, owed.n)
                for (who, at), start in self.starts[place.unit.episode_id].items():
                    places = tuple(_after(at, one, owed) for one in sorted(owed.offsets))
                    groups[who, places].append((key, start))
                    if self._is_next(owed):
                        nexts.setdefault((who, at), places)
        chosen = {key: self._follow_up(*key, owed) for key, owed in groups.items()}
        for (who, _), places in nexts.items():
            self._kept[who].extend((places[0], one) for one in chosen[who, places])

    def _owed(self, unit: PlanUnit) -> list[FollowUp]:
        """The work that follows a start as far as it is told."""
        return [
            one
            for one in follow_ups(unit, self.model.problem.terms)
            if self._told is None
            or len(one.offsets) <= FEW
            or (unit.episode_id, one.work, one.n) in self._told
        ]

    def _is_next(self, owed: FollowUp) -> bool:
        """Whether its places follow the start, closer together than a check is long.

        Then its nurse begins no check and no start at the first of them, wherever it lies.
        """
        terms, first = self.model.problem.terms, min(owed.offsets)
        return first == terms.check + terms.watch and max(owed.offsets) - first < terms.check

    def _follow_up(
        self, who: str, places: tuple[Period, ...], owed: list[tuple[Key, Variable]]
    ) -> list[Variable]:
        """Lay what follows some starts at free places, or miss it; answer the choices of places."""
        free = [one for one in places if self._is_free(who, one)]
        starts = [start for _, start in owed]
        if self.model.is_filled and len(free) == 1:
            self._lay(who, owed, [(free[0], start) for start in starts])
            return starts
        choices = [self.model.schedule.choice() for _ in free]
        self._lay(who, owed, list(zip(free, choices, strict=True)))
        missed = self.model.schedule.between(0, 0 if self.model.is_filled else len(starts))
        self.missed.append(places[0].length // _MINUTE * missed)
        self.model.schedule.model.add(total(choices) + missed == total(starts))
        return choices

    def _tasks(self) -> None:
        """Movable work of units under way, by the one who has it."""
        for piece in task_pieces(self.model.problem):
            periods = [piece.period(at) for at in piece.places]
            free = [one for one in periods if self._is_free(piece.staff_id, one)]
            choices = [self.model.schedule.choice() for _ in free]
            lying = list(zip(free, choices, strict=True))
            self._lay(piece.staff_id, [(piece.key, None)], lying)
            missed = self.model.schedule.choice()
            self.missed.append(piece.length // _MINUTE * missed)
            self.model.schedule.model.add(total(choices) + missed == 1)

    def _one_at_a_time(self) -> None:
        for busy in (self._busy, self._kept):
            for who in sorted(busy):
                for choices in _meeting(busy[who]):
                    self.model.schedule.model.add_at_most_one(choices)

    def _lay(self, who: str, owed: Sequence[Owed], places: Places) -> None:
        self._lying.append((list(owed), places))
        self._busy[who].extend(places)

    def _write(self, who: str, period: Period, choice: Variable) -> None:
        self._busy[who].append((period, choice))
        self._kept[who].append((period, choice))

    def _is_free(self, who: str, period: Period) -> bool:
        return self.model.openings.is_free(who, period)


def _after(at: datetime, offset: timedelta, one: FollowUp) -> Period:
    return Period(at + offset, at + offset + one.length)


def _meeting(busy: Iterable[tuple[Period, Variable]]) -> Iterator[list[Variable]]:
    """By instant at which something begins, what lies on it: of that one thing can be."""
    listed = list(busy)
    begins = sorted({period.from_at for period, _ in listed})
    meeting: list[list[Variable]] = [[] for _ in begins]
    for period, choice in listed:
        first = bisect_left(begins, period.from_at)
        for place in range(first, bisect_left(begins, period.until_at)):
            meeting[place].append(choice)
    return (one for one in meeting if len(one) > 1)


def _taken(free: list[str], asked: str | None) -> str | None:
    """Take one of those who are free out of them; None where one checker is enough."""
    if not free:
        return None
    who = asked if asked in free else free[0]
    free.remove(who)
    return who
