"""The linear relaxation of a model: what none of its solutions can cost less than.

Rows, and choices that exclude each other, are kept; intervals and what holds only under a condition
are left out. Its numbers are fractions: what it proves is rounded with care.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from ortools.linear_solver.python import model_builder as linear
from ortools.sat.python import cp_model

from server.planning.values import Sum, Variable, total

_ROUNDING: Final = 1e-5
# Beyond this a row has no bound.
_ENDLESS: Final = 1 << 60

Row = tuple[Sequence[int], Sequence[int], int, int]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What a sum comes to at least, and by variable how much more where that is not at its least.

    The sum comes to whole `step`s above `offset`.
    """

    bound: float
    more: Mapping[int, float]
    step: int
    offset: int

    @property
    def least(self) -> int:
        """The bound, rounded up to what the sum can come to; nothing where none was found."""
        return 0 if self.bound == -math.inf else self.reached(self.bound)

    def reached(self, least: float) -> int:
        """What the sum comes to where it comes to so much at least."""
        steps = math.ceil((least - self.offset) / self.step - _ROUNDING)
        return self.offset + steps * self.step

    def within(self, variable: Variable, most: int) -> bool:
        """Whether a variable can be above its least while the sum comes to no more than that."""
        return self.bound + self.more[variable.index] <= most + _ROUNDING


def relax(model: cp_model.CpModel, worth: Sum) -> Relaxed | None:
    """Answer how small a sum can be where choices may be fractions; None: there is no solution."""
    relaxed = linear.Model()  # type: ignore[no-untyped-call]
    variables = [
        relaxed.new_num_var(one.domain[0], one.domain[len(one.domain) - 1], None)
        for one in model.proto.variables
    ]
    for indices, factors, least, most in rows(model):
        row = relaxed.helper.add_linear_constraint()
        terms = _summed(indices, factors)
        relaxed.helper.add_terms_to_constraint(
            row, [variables[at] for at in terms], list(terms.values())
        )
        relaxed.helper.set_constraint_lower_bound(row, _number(least))
        relaxed.helper.set_constraint_upper_bound(row, _number(most))
    flat = cp_model.FlatIntExpr(total([worth]))
    costs = [float(one) for one in flat.coeffs]
    chosen = [variables[one.index] for one in flat.vars]
    relaxed.minimize(linear.LinearExpr.weighted_sum(chosen, costs, constant=flat.offset))
    solver = linear.Solver("GLOP")
    step, offset = math.gcd(*(int(one) for one in flat.coeffs)) or 1, int(flat.offset)
    status = solver.solve(relaxed)
    if status == linear.SolveStatus.INFEASIBLE:
        return None
    if status != linear.SolveStatus.OPTIMAL:
        return Relaxed(-math.inf, defaultdict(float), step, offset)
    more = {at: solver.reduced_cost(one) for at, one in enumerate(variables)}
    return Relaxed(solver.objective_value, more, step, offset)


def _summed(indices: Sequence[int], factors: Sequence[int]) -> Mapping[int, int]:
    """Each variable once."""
    if len(set(indices)) == len(indices):
        return dict(zip(indices, factors, strict=True))
    summed = defaultdict[int, int](int)
    for index, factor in zip(indices, factors, strict=True):
        summed[index] += factor
    return summed


def rows(model: cp_model.CpModel) -> Iterator[Row]:
    """Answer what is kept: variables, their factors, and between what the sum of them lies."""
    for one in model.proto.constraints:
        if one.has_linear() and not one.enforcement_literal:
            row = one.linear
            yield list(row.vars), list(row.coeffs), row.domain[0], row.domain[len(row.domain) - 1]
        elif one.has_exactly_one():
            yield _choice(list(one.exactly_one.literals), 1)
        elif one.has_at_most_one():
            yield _choice(list(one.at_most_one.literals), -_ENDLESS)


def _choice(literals: Sequence[int], least: int) -> Row:
    """One of some literals; one that is negated counts as one less its variable.

    One that is named twice can never be.
    """
    negated = sum(one < 0 for one in literals)
    indices = [one if one >= 0 else -one - 1 for one in literals]
    factors = [1 if one >= 0 else -1 for one in literals]
    return indices, factors, least - negated, 1 - negated


def _number(bound: int) -> float:
    return float(bound) if abs(bound) < _ENDLESS else math.copysign(math.inf, bound)
