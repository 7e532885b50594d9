"""What the accepted plan says of the next units: when each is called for, and by whom it is given.

A nurse with four units in hand is called for none, whatever a plan says: then the call passes, the
plan no longer holds, and what mends it is accepted.
"""

from datetime import datetime
from typing import Final

from seed_demo.actors.scene import IN_HAND, Look, Scene
from seed_demo.rota import Duty
from server.domain.plan.planned import Planned
from server.domain.words import Phase

MOST_BY_PLAN: Final = 4
"""One more than without a plan: a plan has counted the minutes."""


def planned_of(look: Look) -> Planned | None:
    """What the plan in force says of a unit that is not started."""
    return look.picture.case.planned


def next_planned(scene: Scene) -> tuple[Look, Duty] | None:
    """The unit whose call has come by the plan, and the nurse who will give it.

    Once it is given to that nurse it is handed over a little later: the porter has to come first.
    """
    for look in sorted(scene.touchable, key=_call):
        planned = planned_of(look)
        if planned is None or look.episode.phase is not Phase.AVAILABLE:
            continue
        duty = look.shift.duty_of(planned.nurse_id)
        if duty is None or scene.now < _call(look) or not _is_on_the_way(look, planned):
            continue
        if _has_hands(scene, look, duty) and not _is_held_up(scene, look):
            return look, duty
    return None


def next_given_otherwise(scene: Scene) -> tuple[Look, Duty] | None:
    """A unit on the ward that a mended plan gives to another nurse, before its check."""
    for look in scene.touchable:
        planned, episode = planned_of(look), look.episode
        if planned is None or episode.phase is not Phase.ISSUED or episode.nurse_id is None:
            continue
        duty = look.shift.duty_of(planned.nurse_id)
        if duty is None or not duty.is_free(scene.now) or duty.staff_id == episode.nurse_id:
            continue
        if episode.identity_at is None and _has_hands(scene, look, duty):
            return look, duty
    return None


def bedside_at(look: Look) -> datetime | None:
    """When its nurse turns to a unit by the plan, None where no plan says."""
    planned = planned_of(look)
    if planned is None:
        return None
    return planned.start_at - look.picture.case.policy.work_check_and_start


def planned_second(look: Look) -> str | None:
    """The second person whom the plan names, if they are there."""
    planned = planned_of(look)
    duty = None if planned is None else look.shift.duty_of(planned.second_id)
    return duty.staff_id if duty is not None and duty.is_free(look.now) else None


def _call(look: Look) -> datetime:
    """When it is called for; one that is handed over already was planned without a call."""
    planned = planned_of(look)
    return look.now if planned is None else planned.call_at or look.now


def _is_on_the_way(look: Look, planned: Planned) -> bool:
    """Whether it may be given away now: to its nurse at the call, by the porter a little later."""
    if look.episode.nurse_id != planned.nurse_id:
        return True
    return look.now >= _call(look) + look.lag("porter", *_porter(look))


def _porter(look: Look) -> tuple[float, float]:
    """In how many minutes the porter comes; now and then somebody else has the porter."""
    return (6, 11) if look.happens(0.12, "porter late") else (0.5, 3)


def _has_hands(scene: Scene, look: Look, duty: Duty) -> bool:
    others = [one for one in scene.looks if one is not look and one.duty == duty]
    return sum(one.episode.phase in IN_HAND for one in others) < MOST_BY_PLAN


def _is_held_up(scene: Scene, look: Look) -> bool:
    """Whether the patient has another unit in hand or may be reacting to one."""
    theirs = (one for one in scene.looks if one.patient_id == look.patient_id and one is not look)
    return any(
        one.episode.phase in IN_HAND or one.episode.reaction_at is not None for one in theirs
    )
