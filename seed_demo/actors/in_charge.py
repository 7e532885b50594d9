"""What the charge nurse decides: who has a unit, and when the next one may be called for.

Without a plan it is first come first served, but two first quarters of an hour never fall on the
same nurse. Nobody has more than three units in hand then.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from seed_demo.actors.by_plan import next_planned, planned_of
from seed_demo.actors.scene import DONE, IN_HAND, NOT_HERE, Look, Scene, Wish
from seed_demo.rota import Duty
from seed_demo.staff import TEAMS
from server.domain.payloads import Available, Cancelled
from server.domain.words import ClockName, Phase, Priority

MOST_IN_HAND: Final = 3
MOST_ON_WARD: Final = 12
FIRST_QUARTER: Final = timedelta(minutes=20)
BUSY_WITH_REACTION: Final = timedelta(minutes=30)
STAYS: Final = timedelta(minutes=25)
"""A nurse who goes on a break or home within this time starts nothing new."""

PRIORITIES: Final = tuple(Priority)


def next_taken_over(scene: Scene) -> tuple[Look, Duty] | None:
    """The most urgent unit that is here and that nobody on this shift has, and who takes it."""
    for look in scene.touchable:
        if look.duty is not None or not _wants_somebody(look):
            continue
        duty = _planned(scene, look) or _successor(look) or _least_busy(scene)
        if duty is not None and _handed_over_at(look) <= scene.now:
            return look, duty
    return None


def _wants_somebody(look: Look) -> bool:
    """Whether something is left to do at the bedside."""
    if look.episode.phase in DONE:
        owed = look.owed(ClockName.END_CHECK) is not None
        return owed or look.episode.reaction_at is not None
    return look.episode.phase not in NOT_HERE


def _handed_over_at(look: Look) -> datetime:
    """A shift is handed over bed by bed; a unit that is nobody's waits until somebody sees it."""
    if look.episode.nurse_id is None:
        return (look.episode.issued_at or look.now) + look.lag("assigned", 42, 48)
    return look.shift.charge.starts_at + look.lag("handed over", 1, 12)


def _planned(scene: Scene, look: Look) -> Duty | None:
    """Whoever gives it by the plan, if they are there."""
    planned = planned_of(look)
    duty = None if planned is None else look.shift.duty_of(planned.nurse_id)
    if duty is None or not duty.is_free(scene.now) or len(_in_hand(scene, duty)) >= MOST_IN_HAND:
        return None
    return duty


def _successor(look: Look) -> Duty | None:
    """Whoever has the same place in the team that has come on."""
    for team in TEAMS:
        keys = [person.id for person in team.everybody]
        if look.episode.nurse_id in keys:
            return look.shift.everybody[keys.index(look.episode.nurse_id)]
    return None


def _least_busy(scene: Scene) -> Duty | None:
    able = [
        duty
        for duty in scene.shift.givers
        if duty.is_free(scene.now) and len(_in_hand(scene, duty)) < MOST_IN_HAND
    ]
    return min(able, key=lambda duty: len(_in_hand(scene, duty)), default=None)


def _in_hand(scene: Scene, duty: Duty) -> list[Look]:
    """The units a nurse has in hand, and those that are about to be handed over to them."""
    return [
        look
        for look in scene.looks
        if look.episode.phase in IN_HAND and (look.duty or _successor(look)) == duty
    ]


def wishes_waiting(look: Look) -> Iterator[Wish]:
    """An order is withdrawn now and then; else the laboratory makes the unit ready."""
    request = look.picture.case.request
    asked = request.requested_at or request.recorded_at
    if request.n == request.units and request.n == 1 and look.happens(0.05, "withdrawn"):
        at = asked + look.lag("withdrawn", 12, 40)
        yield Wish(at, Cancelled("no longer needed"), by=look.shift.charge.staff_id)
    if look.episode.phase is Phase.REQUESTED:
        hurry = request.priority is Priority.EMERGENCY
        lag = look.lag("ready", 3, 6) if hurry else look.lag("ready", 8, 30)
        yield Wish(asked + lag, Available(), by="blood-bank")


def next_call(scene: Scene) -> tuple[Look, Duty] | None:
    """The unit that may be called for now, and the nurse who will give it."""
    planned = next_planned(scene) if scene.follows_plan else None
    if planned is not None:
        return planned
    if sum(look.episode.phase in IN_HAND for look in scene.looks) >= MOST_ON_WARD:
        return None
    for look in sorted(_unplanned(scene), key=_turn):
        if look.episode.phase is Phase.AVAILABLE and _may_come(scene, look):
            duty = _who_gives(scene, look)
            if duty is not None:
                return look, duty
    return None


def _unplanned(scene: Scene) -> Iterator[Look]:
    """The units that are not called by a plan: emergencies wait for none."""
    for look in scene.touchable:
        is_emergency = look.picture.case.request.priority is Priority.EMERGENCY
        if not scene.follows_plan or (is_emergency and planned_of(look) is None):
            yield look


def may_start(scene: Scene, duty: Duty) -> bool:
    """Whether a nurse has hands free for the first quarter of an hour of another unit."""
    if not duty.is_free_until(scene.now, scene.now + STAYS):
        return False
    in_hand = _in_hand(scene, duty)
    if len(in_hand) >= MOST_IN_HAND or any(_is_starting(look) for look in in_hand):
        return False
    return not any(_is_in_reaction(look, duty) for look in scene.looks)


def _turn(look: Look) -> tuple[int, datetime, str]:
    request = look.picture.case.request
    asked = request.requested_at or request.recorded_at
    wanted = request.wanted_by or request.not_before or asked
    return (PRIORITIES.index(request.priority), wanted, request.id)


def _may_come(scene: Scene, look: Look) -> bool:
    """The patient has no other unit in hand, and it is neither too early nor out of turn."""
    request, ready = look.picture.case.request, look.episode.available_at or scene.now
    if request.not_before is not None and scene.now < request.not_before:
        return False
    if scene.now < ready + look.lag("called", 2, 20):
        return False
    return not any(_comes_first(look, other) for other in scene.looks if other is not look)


def _comes_first(look: Look, other: Look) -> bool:
    mine, theirs = look.picture.case.request, other.picture.case.request
    if theirs.patient_id != mine.patient_id:
        return False
    earlier = theirs.order_id == mine.order_id and theirs.n < mine.n
    if earlier and other.episode.phase in NOT_HERE:
        return True
    return other.episode.phase in IN_HAND or other.episode.reaction_at is not None


def _who_gives(scene: Scene, look: Look) -> Duty | None:
    """The nurse who has it already, if hands are free; else whoever has the fewest in hand."""
    if look.duty is not None and may_start(scene, look.duty):
        return look.duty
    able = [duty for duty in scene.shift.givers if may_start(scene, duty)]
    return min(able, key=lambda duty: len(_in_hand(scene, duty)), default=None)


def _is_starting(look: Look) -> bool:
    started = look.episode.started_at
    return started is None or look.now < started + FIRST_QUARTER


def _is_in_reaction(look: Look, duty: Duty) -> bool:
    since = look.episode.reaction_at
    mine = look.episode.nurse_id == duty.staff_id
    return mine and since is not None and look.now < since + BUSY_WITH_REACTION
