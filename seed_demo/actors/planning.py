"""When the charge nurse plans again: the plan no longer holds, or units were ordered since."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto
from typing import Final

from seed_demo import chance
from seed_demo.actors.by_plan import planned_of
from seed_demo.actors.scene import Look, Scene
from server.domain.plan.plan import Plan
from server.domain.words import Phase, Priority

REST: Final = timedelta(minutes=5)
"""How long a plan is left alone once it is in force."""

TRY_AGAIN: Final = timedelta(minutes=25)
"""After how long a place is looked for again for units that found none."""

TO_PLAN: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})


class Planning(Enum):
    """What the charge nurse does about the plan."""

    NOTHING = auto()
    MEND = auto()
    ASK = auto()


@dataclass(frozen=True, slots=True)
class InForce:
    """The plan in force, the one that would mend it, and since when it is known not to hold."""

    plan: Plan
    broken_since: datetime | None = None
    repair_id: str | None = None


def planning(scene: Scene, in_force: InForce) -> Planning:
    """Answer what is done now: new units are planned by a proposal, anything else is mended."""
    accepted = in_force.plan.accepted_at or in_force.plan.made_at
    if not scene.is_here(scene.shift.charge.staff_id):
        return Planning.NOTHING
    if any(_is_noticed(look) for look in _new(scene, in_force.plan)):
        return Planning.ASK
    if scene.now < accepted + REST:
        return Planning.NOTHING
    broken = in_force.broken_since
    label = in_force.plan.made_at.isoformat()
    if broken is not None and scene.now >= broken + _patience(scene, label):
        return Planning.ASK if in_force.repair_id is None else Planning.MEND
    stale = in_force.plan.proposal.unplaced and scene.now >= accepted + TRY_AGAIN
    return Planning.ASK if stale else Planning.NOTHING


def _new(scene: Scene, plan: Plan) -> list[Look]:
    """The units in storage that the plan says nothing of."""
    known = {one.episode_id for one in plan.proposal.unplaced}
    known |= {one.episode_id for one in plan.proposal.starts}
    return [
        look
        for look in scene.looks
        if look.episode.phase in TO_PLAN and planned_of(look) is None and look.id not in known
    ]


def _is_noticed(look: Look) -> bool:
    """An emergency at once, anything else within some minutes."""
    request = look.picture.case.request
    if request.priority is Priority.EMERGENCY:
        return True
    return look.now >= request.recorded_at + look.lag("noticed", 3, 8)


def _patience(scene: Scene, label: str) -> timedelta:
    return chance.minutes(5, 10, scene.seed, "mended", label)
