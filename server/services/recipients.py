"""Who is told at each stage of a reminder, by the policy and by who is on duty at an instant."""

from datetime import datetime

from server.domain.clock import SECOND
from server.domain.cover import Cover, who_answers
from server.domain.picture import Picture
from server.domain.policy import Policy
from server.domain.words import Recipient, Role, Stage
from server.store.covers import covers_between
from server.store.sessions import ReadSession
from server.store.shifts import staff_on_duty
from server.store.wards import read_ward


def recipient_of(stage: Stage, policy: Policy) -> Recipient:
    """Answer whom the policy names for a stage."""
    if stage is Stage.ESCALATE:
        return policy.reminders_escalate_to
    if stage is Stage.SECOND_ESCALATE:
        return policy.reminders_second_escalate_to
    return policy.reminders_to


class Recipients:
    """Who has to know on each ward at an instant, asked once for however many reminders.

    A person is named by the id; where nobody is on the plan, or there is no such person, the
    role or the word of the policy stands for whoever has it.
    """

    def __init__(self, session: ReadSession, now: datetime) -> None:
        self._session = session
        self._now = now
        self._in_charge: dict[str, str] = {}
        self._contacts: dict[str, str] = {}
        self._covers: dict[str, tuple[Cover, ...]] = {}

    def of(self, looked: Picture, stage: Stage) -> str:
        """Whom a stage of a unit's clock goes to; for somebody who is covered, whoever covers."""
        ward_id, named = looked.case.request.ward_id, recipient_of(stage, looked.case.policy)
        if named is Recipient.NEXT_CONTACT:
            return self._contact_of(ward_id)
        if named is Recipient.MANAGER:
            return Role.MANAGER.value
        nurse_id = looked.episode.nurse_id if named is Recipient.UNIT_NURSE else None
        told = nurse_id or self._in_charge_of(ward_id)
        return who_answers(told, self._covers_of(ward_id), self._now)

    def _contact_of(self, ward_id: str) -> str:
        if ward_id not in self._contacts:
            ward = read_ward(self._session, ward_id)
            self._contacts[ward_id] = (ward and ward.next_contact) or Recipient.NEXT_CONTACT.value
        return self._contacts[ward_id]

    def _in_charge_of(self, ward_id: str) -> str:
        if ward_id not in self._in_charge:
            on_duty = staff_on_duty(self._session, ward_id, Role.CHARGE_NURSE, self._now)
            self._in_charge[ward_id] = on_duty or Role.CHARGE_NURSE.value
        return self._in_charge[ward_id]

    def _covers_of(self, ward_id: str) -> tuple[Cover, ...]:
        if ward_id not in self._covers:
            until = self._now + SECOND
            self._covers[ward_id] = covers_between(self._session, [ward_id], self._now, until)
        return self._covers[ward_id]
