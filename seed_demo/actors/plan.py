"""Who does what now: each person one thing at a time, the most urgent unit first."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from seed_demo.actors.after_end import wishes_after_end
from seed_demo.actors.before_start import wish_before_start
from seed_demo.actors.by_plan import next_given_otherwise
from seed_demo.actors.in_charge import next_call, next_taken_over, wishes_waiting
from seed_demo.actors.paperwork import wishes_on_paper
from seed_demo.actors.reactions import wishes_in_reaction
from seed_demo.actors.running import wishes_running
from seed_demo.actors.scene import NOT_HERE, Deed, Look, Scene, Wish
from seed_demo.bags import handed_over
from seed_demo.rota import Duty
from seed_demo.staff import BLOOD_BANK
from server.domain.payloads import Assigned
from server.domain.words import ClockState, Level, Phase

HANDS_FULL: Final = timedelta(seconds=45)
"""How long one thing keeps a nurse from the next."""

URGENT: Final = frozenset({Level.REACTION, Level.PAST_LIMIT})


def plan(scene: Scene) -> tuple[Deed, ...]:
    """Answer what is done now. The same scene gives the same deeds; nobody does two."""
    busy = {
        key for key, at in scene.last_deeds.items()
        if key != BLOOD_BANK.id and scene.now < at + HANDS_FULL
    }  # fmt: skip
    deeds: list[Deed] = []
    taken: set[str] = set()
    for deed in (*_in_charge(scene), *_wanted(scene)):
        # One thing at a time for each patient too: signs taken for one unit concern the others.
        if deed.by in busy or deed.patient_id in taken or deed.episode_id in scene.left_alone:
            continue
        if not scene.is_here(deed.by):
            continue
        deeds.append(deed)
        busy.add(deed.by)
        taken.add(deed.patient_id)
    return tuple(deeds)


def _wanted(scene: Scene) -> Iterator[Deed]:
    """Everything that could be done now by somebody who is there to do it."""
    for look in scene.looks:
        for wish in _wishes(look):
            by = wish.by or _carer(look)
            if wish.ready_at <= scene.now and by is not None:
                yield Deed(look.id, look.patient_id, by, wish.payload)


def _wishes(look: Look) -> Iterator[Wish]:
    if look.episode.phase in NOT_HERE:
        yield from wishes_waiting(look)
        return
    if look.episode.reaction_at is not None:
        yield from wishes_in_reaction(look)
    elif look.episode.phase is Phase.ISSUED:
        wish = wish_before_start(look)
        yield from [wish] if wish is not None else []
    elif look.episode.phase in (Phase.RUNNING, Phase.PAUSED):
        yield from wishes_running(look)
    else:
        yield from wishes_after_end(look)
    yield from wishes_on_paper(look)


def _carer(look: Look) -> str | None:
    """The unit's nurse; while away, the charge nurse for what cannot wait; else nobody."""
    duty, charge = look.duty, look.shift.charge
    if duty is not None and duty.is_free(look.now):
        return duty.staff_id
    if duty is not None and _cannot_wait(look) and charge.is_free(look.now):
        return charge.staff_id
    return None


def _cannot_wait(look: Look) -> bool:
    if look.picture.urgency.level in URGENT:
        return True
    patience = look.lag("patience", 6, 12)
    overdue = look.picture.standing.in_state(ClockState.OVERDUE)
    return any(clock.limit_at and look.now > clock.limit_at + patience for clock in overdue)


def _in_charge(scene: Scene) -> Iterator[Deed]:
    """A unit that nobody has is given to somebody; then the next one may be called for."""
    taken_over = next_taken_over(scene)
    if taken_over is not None:
        yield _assigned(scene, *taken_over)
    given = next_given_otherwise(scene)
    if given is not None:
        yield _assigned(scene, *given)
    called = next_call(scene)
    if called is not None:
        look, duty = called
        mine = look.episode.nurse_id == duty.staff_id
        yield _handed(scene, look) if mine else _assigned(scene, look, duty)


def _assigned(scene: Scene, look: Look, duty: Duty) -> Deed:
    charge = scene.shift.charge.staff_id
    return Deed(look.id, look.patient_id, charge, Assigned(duty.staff_id))


def _handed(scene: Scene, look: Look) -> Deed:
    request, patient = look.picture.case.request, look.picture.case.patient
    removed = scene.now - look.lag("removed", 1, 5)
    handed = handed_over(scene.seed, look.id, request.component, patient, removed)
    return Deed(look.id, look.patient_id, BLOOD_BANK.id, handed)
