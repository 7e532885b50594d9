"""What a plan is worth, level by level, and how sure it is, in words."""

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Final

from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Maker, Objective, Proposal, Status
from server.domain.plan.score import score
from server.domain.wording import span
from server.services.read_plan import PlanLook

LEVELS: Final[Mapping[str, str]] = {
    "Without a start": "urgent units count more",
    "Urgent and late": "minutes, weighted by urgency",
    "Too much work": "minutes that nobody is there for, and routine starts at night",
    "Changed starts": "moved or given to others against the accepted plan",
    "Comfort": "minutes of routine waiting, of the busiest nurse, and for starts by others",
}
_MINUTES: Final = (False, True, True, False, True)
NO_PLAN: Final = "No plan"


@dataclass(frozen=True, slots=True)
class WorthRow:
    """One level: what it counts, and its worth in each column."""

    name: str
    hint: str
    worths: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WorthView:
    """The worth beside the accepted plan's and that of none; less is better in every row."""

    columns: tuple[str, ...]
    rows: tuple[WorthRow, ...]


def worth_view(look: PlanLook) -> WorthView:
    """Answer the table of worths of the version that is looked at."""
    columns = _columns(look)
    worths = [astuple(one) for one in columns.values()]
    rows = (
        WorthRow(name, hint, tuple(_said(worth[place], _MINUTES[place]) for worth in worths))
        for place, (name, hint) in enumerate(LEVELS.items())
    )
    return WorthView(tuple(columns), tuple(rows))


def _columns(look: PlanLook) -> dict[str, Objective]:
    """The accepted plan is judged by the ward as it is now, as is having none."""
    columns: dict[str, Objective] = {}
    if look.plan is not None and not is_in_force(look, look.plan):
        columns["This version"] = look.plan.proposal.objective
    if look.worth_in_force is not None:
        columns["Accepted plan"] = look.worth_in_force
    columns[NO_PLAN] = score(look.ground.problem, ())
    bound = None if look.plan is None else look.plan.proposal.bound
    if bound is not None and look.plan is not None and not is_in_force(look, look.plan):
        columns["No plan can beat"] = bound
    return columns


def worth_text(look: PlanLook) -> str:
    """Answer what the version is worth in one line, beside the one that it was made of."""
    if look.plan is None:
        return ""
    now = objective_text(look.plan.proposal.objective)
    before = None if look.parent is None else objective_text(look.parent.proposal.objective)
    if before is None or before == now:
        return f"Worth: {now}."
    return f"Worth: {now}. Before: {before}."


def is_in_force(look: PlanLook, plan: Plan) -> bool:
    """Whether a version is the accepted plan."""
    return look.ground.in_force is not None and look.ground.in_force.id == plan.id


def objective_text(worth: Objective) -> str:
    """Answer a worth in one line."""
    pairs = zip(LEVELS, astuple(worth), _MINUTES, strict=True)
    return ", ".join(f"{name.lower()} {_said(value, minutes)}" for name, value, minutes in pairs)


def level_text(level: str, worth: int) -> str:
    """Answer the worth on one level, named as the field of an objective is."""
    place = Objective.__match_args__.index(level)
    return f"{tuple(LEVELS)[place].lower()} {_said(worth, _MINUTES[place])}"


def status_text(proposal: Proposal) -> str:
    """Answer how sure a plan is."""
    if not (proposal.starts or proposal.unplaced):
        return "No unit waits, and none is planned"
    if proposal.made_by is Maker.HAND:
        return "Put together by hand"
    if proposal.made_by is Maker.LIST_RULE:
        return "List rule: urgent units first, each at the earliest place"
    if proposal.status is Status.OPTIMAL:
        return "Proven best"
    if proposal.gap_percent is None:
        return "Best found in the time"
    return f"Best found, at most {proposal.gap_percent:.0f} % from the best"


def _said(value: int, minutes: bool) -> str:  # noqa: FBT001 - a column of a table
    return span(value) if minutes and value else f"{value}"
