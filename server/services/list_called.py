"""Reminders that call a nurse although another has the unit, or nobody has it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Final

from server.domain.picture import Picture
from server.domain.reminders import acknowledgement_of
from server.domain.words import Role, Stage
from server.services.raise_reminders import identity_of
from server.services.recipients import Recipients
from server.store.reminders import RaisedReminder, reminders_calling
from server.store.sessions import ReadSession
from server.store.staff import Staff

CALLED_FOR: Final = timedelta(hours=24)
ESCALATIONS: Final = frozenset({Stage.ESCALATE, Stage.SECOND_ESCALATE})


def reminders_of_others(
    session: ReadSession, nurse: Staff, ward_ids: Iterable[str], own: Iterable[str], now: datetime
) -> dict[str, list[RaisedReminder]]:
    """Answer what may call the nurse beside the nurse's own units, by episode id.

    Whom it calls now is for `still_calling` to say, with the unit before its eyes.
    """
    raised = reminders_calling(
        session,
        ward_ids,
        _stands_for(nurse),
        now - CALLED_FOR,
        escalated=nurse.role is Role.CHARGE_NURSE,
    )
    known, found = set(own), defaultdict(list)
    for one in raised:
        if one.episode_id not in known:
            found[one.episode_id].append(one)
    return dict(found)


def calls_among(
    nurse: Staff, raised: Iterable[RaisedReminder], own: Iterable[str], now: datetime
) -> dict[str, list[RaisedReminder]]:
    """Answer the same of reminders that were read already, for a look at the past."""
    known, told = set(own), _stands_for(nurse)
    found = defaultdict(list)
    for one in raised:
        escalated = nurse.role is Role.CHARGE_NURSE and one.stage in ESCALATIONS
        recent = one.raised_at >= now - CALLED_FOR
        if recent and one.episode_id not in known and (one.to in told or escalated):
            found[one.episode_id].append(one)
    return dict(found)


def still_calling(
    session: ReadSession,
    nurse: Staff,
    looked: Iterable[Picture],
    raised: Mapping[str, Iterable[RaisedReminder]],
    now: datetime,
) -> dict[str, tuple[RaisedReminder, ...]]:
    """Answer the reminders that call the nurse now, the latest of each clock, by episode id.

    Quiet are those of a clock that is met or that somebody has, and those that would go to
    somebody else by now: the unit was taken, a cover began, another came on duty.
    """
    recipients, mine = Recipients(session, now), _stands_for(nurse)
    calling: dict[str, tuple[RaisedReminder, ...]] = {}
    for one in looked:
        owed = _owed(one)
        latest = {
            (reminder.clock, reminder.n): reminder
            for reminder in raised.get(one.case.request.id, ())
            if identity_of(reminder) in owed and recipients.of(one, reminder.stage) in mine
        }
        if latest:
            calling[one.case.request.id] = tuple(latest.values())
    return calling


def _owed(looked: Picture) -> set[tuple[object, ...]]:
    """What a unit owes to be said now of clocks that nobody has; a correction may have moved one.

    The identities of its reminders.
    """
    taken = {
        (clock.name, clock.n)
        for clock, _ in looked.clocks
        if acknowledgement_of(clock, looked.standing) is not None
    }
    return {identity_of(one) for one in looked.reminders if (one.clock, one.n) not in taken}


def _stands_for(nurse: Staff) -> frozenset[str]:
    """Under which names the nurse is told: the id, and in charge the role where nobody is named."""
    in_charge = nurse.role is Role.CHARGE_NURSE
    return frozenset({nurse.id, Role.CHARGE_NURSE.value} if in_charge else {nurse.id})
