"""What a search is asked and what it answers, whatever is scheduled."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from ortools.sat.python import cp_model

Variable = cp_model.IntVar
Sum = cp_model.LinearExpr


class Stopping(Protocol):
    """Whoever may end a search says here that it has to end."""

    def is_set(self) -> bool:
        """Whether it has."""


@dataclass(frozen=True, slots=True)
class Task:
    """Work of a fixed length; `present` None: it is always done."""

    start: Sum | int
    length: int
    interval: cp_model.IntervalVar
    present: Variable | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """What is made small, once all levels before it are as small as can be.

    A solution that reaches a bound known beforehand is not searched on. `least` always holds;
    `target` holds as long as every level before reached its own.
    """

    name: str
    worth: Sum | int
    least: int = 0
    target: int | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """How long to search. `work` counts in the solver's own steps, about a second each.

    One worker that stops by `work` gives the same answer each time; `seconds` by the clock on the
    wall is a guard for a machine that is busy with other things. `relaxed` says how much of a model
    the solver keeps in its linear relaxation: 1 as it thinks fit, 2 everything. `afresh`: where to
    begin is of no use to it, as when any solution is looked for that is far from those known.
    """

    work: float
    seconds: float
    workers: int = 1
    seed: int = 0
    presolve: bool = True
    relaxed: int = 1
    afresh: bool = False


@dataclass(frozen=True, slots=True)
class Closed:
    """How far a level came; `bound` None: it was not reached. It is closed where they agree."""

    name: str
    worth: int | None
    bound: int | None

    @property
    def is_closed(self) -> bool:
        """Whether nothing better exists, given the levels before."""
        return self.worth is not None and self.worth == self.bound


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found. `values` by variable index; empty where there is no solution at all."""

    values: Mapping[int, int]
    levels: tuple[Closed, ...]
    is_infeasible: bool
    seconds: float
    work: float

    @property
    def is_optimal(self) -> bool:
        """Whether every level is closed."""
        return bool(self.values) and all(level.is_closed for level in self.levels)

    def __getitem__(self, variable: Variable) -> int:
        """The value of a variable."""
        return self.values[variable.index]


def total(terms: Iterable[Sum | int]) -> Sum:
    """Answer the sum of some terms, also of none."""
    return cp_model.LinearExpr.sum(list(terms))


def weighted(terms: Iterable[tuple[Variable, int]]) -> Sum:
    """Answer the sum of some variables, each so many times; many at once, as each costs a while."""
    counted = [(one, each) for one, each in terms if each]
    return cp_model.LinearExpr.weighted_sum(
        [one for one, _ in counted], [each for _, each in counted]
    )


def evaluate(worth: Sum | int, values: Mapping[int, int]) -> int:
    """Answer what a sum of variables comes to."""
    flat = cp_model.FlatIntExpr(total([worth]))
    terms = zip(flat.vars, flat.coeffs, strict=True)
    return int(flat.offset) + sum(values[one.index] * int(factor) for one, factor in terms)
