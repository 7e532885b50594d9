"""The wards of the invented hospital: what each gives, when, and how it works."""

from dataclasses import dataclass, replace
from typing import Final

from server.domain.words import Component

RED: Final = Component.RED_CELLS
PLATELETS: Final = Component.PLATELETS
PLASMA: Final = Component.PLASMA
CRYO: Final = Component.CRYOPRECIPITATE


@dataclass(frozen=True, slots=True)
class Habits:
    """How a ward works. `porter` and `visits` are minutes; everything else is odds from 0 to 1.

    `porter` is the median from storage to the ward and `visits` how far a nurse's round strays
    from the minute it was meant for; `timid` runs units too slowly from the start, and
    `forgets_set` gives platelets through a set that other blood ran through.
    """

    porter: float = 9.0
    visits: float = 3.0
    forgets_set: float = 0.03
    forgets_baseline: float = 0.02
    forgets_first: float = 0.03
    forgets_round: float = 0.04
    forgets_end: float = 0.03
    forgets_fate: float = 0.015
    loses_bag: float = 0.002
    timid: float = 0.05
    charts_late: float = 0.03
    explains: float = 0.7


@dataclass(frozen=True, slots=True)
class Change:
    """From a share of the period on (0 to 1) the ward works otherwise, and says so."""

    after: float
    text: str
    habits: Habits


@dataclass(frozen=True, slots=True)
class WardPlan:
    """One ward. `share` is its part of all units by weight; `mix` are components by weight.

    `order_units` are sizes of orders and `bleeds` the odds that an order is a major bleeding.
    `nights` is the part of routine orders placed at night, `by_day` and `by_night` how many
    nurses give units then. `rounds` are minutes between two sets of signs while a unit runs.
    `records` begins its record numbers.
    """

    id: str
    name: str
    share: float
    mix: tuple[tuple[Component, int], ...] = ((RED, 8), (PLATELETS, 1), (PLASMA, 1))
    order_units: tuple[int, ...] = (1, 1, 1, 2, 2)
    bleeds: float = 0.004
    nights: float = 0.12
    weekdays_only: bool = False
    by_day: int = 5
    by_night: int = 3
    rounds: int = 30
    children: float = 0.0
    ages: tuple[int, int] = (18, 90)
    again: float = 0.45
    records: str = "NH"
    habits: Habits = Habits()
    change: Change | None = None

    def habits_at(self, share: float) -> Habits:
        """How the ward works when a share of the period is over."""
        is_new = self.change is not None and share >= self.change.after
        return self.change.habits if self.change is not None and is_new else self.habits


_USUAL: Final = Habits()
_SLOW_PORTERS: Final = Habits(porter=15.0)
_STRETCHED: Final = Habits(
    porter=11.0, visits=5.0, forgets_first=0.1, forgets_round=0.1, forgets_end=0.08, explains=0.45
)

WARDS: Final = (
    WardPlan(
        "harbour",
        "Harbour Ward, haematology",
        15,
        mix=((RED, 5), (PLATELETS, 5)),
        by_day=7,
        by_night=4,
        again=0.75,
    ),
    WardPlan(
        "ferry",
        "Ferry Day Unit",
        12,
        mix=((RED, 9), (PLATELETS, 2)),
        weekdays_only=True,
        nights=0.0,
        by_day=7,
        again=0.6,
        habits=_SLOW_PORTERS,
        change=Change(0.58, "new porter round", replace(_SLOW_PORTERS, porter=9.0)),
    ),
    WardPlan(
        "beacon",
        "Beacon Intensive Care",
        12,
        mix=((RED, 5), (PLATELETS, 2), (PLASMA, 3), (CRYO, 1)),
        bleeds=0.02,
        nights=0.35,
        by_day=7,
        by_night=6,
        habits=replace(_USUAL, visits=2.0, forgets_first=0.015),
    ),
    WardPlan(
        "quarry",
        "Quarry Emergency Unit",
        10,
        mix=((RED, 7), (PLASMA, 3)),
        bleeds=0.04,
        nights=0.3,
        by_day=6,
        by_night=5,
        again=0.2,
    ),
    WardPlan(
        "foxglove",
        "Foxglove Ward, oncology",
        9,
        mix=((RED, 6), (PLATELETS, 4)),
        order_units=(1, 1, 2),
        again=0.65,
    ),
    WardPlan("mill", "Mill Ward, general surgery", 8, bleeds=0.012),
    WardPlan("heron", "Heron Ward, gastroenterology", 8, bleeds=0.015, habits=_STRETCHED),
    WardPlan("orchard", "Orchard Ward, orthopaedics", 7, mix=((RED, 1),)),
    WardPlan(
        "linden",
        "Linden Ward, older people",
        7,
        mix=((RED, 1),),
        ages=(72, 98),
        by_day=4,
        habits=replace(_USUAL, timid=0.16),
    ),
    WardPlan("anchor", "Anchor Ward, renal", 5, mix=((RED, 1),), nights=0.05, by_day=4),
    WardPlan(
        "sparrow",
        "Sparrow Ward, children",
        4,
        mix=((RED, 6), (PLATELETS, 3)),
        order_units=(1,),
        children=1.0,
        by_day=4,
    ),
    WardPlan(
        "willow",
        "Willow Ward, maternity",
        3,
        mix=((RED, 8), (PLASMA, 1), (CRYO, 1)),
        bleeds=0.05,
        nights=0.3,
        ages=(18, 44),
        by_day=4,
        again=0.15,
    ),
)
"""Invented; one works worse than the others, one works better from a day on."""
