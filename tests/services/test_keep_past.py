"""A past that comes in whole: who may bring it, and whom its reminders went to."""

from collections.abc import Callable
from datetime import datetime
from typing import Final

import pytest

from server.domain.events import Event
from server.domain.payloads import Assigned, Issued, Payload
from server.domain.request import Request
from server.domain.words import Component, Stage
from server.services.actor import SYSTEM, Actor
from server.services.errors import Forbidden
from server.services.keep_past import Past, keep_past
from server.services.work_out_past import (
    WorkedOut,
    keep_worked_out,
    list_not_worked_out,
    read_told,
    work_out_past,
)
from server.store.log import Logged
from server.store.reminders import reminders_since
from server.store.sessions import WriteSession
from server.store.shifts import Break, Shift
from server.store.store import Store
from tests.domain.builders import KIND_OF, at
from tests.services.charting import Charting, local_policy
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, COLLEAGUE, NURSE, OUTSIDE_CHARGE, PROGRAM

ON_A_WARD: Final = Actor("program-1", "Analyser", PROGRAM.role, frozenset({"w1"}))
UNTIL: Final = at(50)
SHIFTS: Final = (
    Shift("s1", CHARGE.id, "w1", at(-300), at(34), (Break(at(-60), at(-30)),)),
    Shift("s2", CHARGE.id, "w1", at(34), at(500)),
    Shift("s3", NURSE.id, "w1", at(-300), at(500)),
    Shift("s9", OUTSIDE_CHARGE.id, "w2", at(-300), at(20)),
)


def _request(episode_id: str, ward_id: str, patient_id: str) -> Request:
    return Request(
        id=episode_id,
        patient_id=patient_id,
        ward_id=ward_id,
        bed="4",
        component=Component.RED_CELLS,
        recorded_at=at(-120),
        recorded_by=SYSTEM.id,
    )


def _fact(n: int, when: datetime, payload: Payload, request: Request) -> Logged:
    event = Event(
        f"f{n}", KIND_OF[type(payload)], when, when, payload, SYSTEM.id, 0, None, request.id
    )
    return Logged(event, request.patient_id, request.ward_id)


def _past() -> Past:
    """A unit of a nurse, one that is nobody's, and one where nobody is in charge any more."""
    hers, nobodys = _request("e1", "w1", "p1"), _request("e2", "w1", "p2")
    elsewhere = _request("e9", "w2", "p9")
    facts = [
        _fact(1, at(-1), Assigned(NURSE.id), hers),
        *(_fact(n, at(0), Issued(), one) for n, one in enumerate((hers, nobodys, elsewhere), 2)),
    ]
    return Past(shifts=SHIFTS, requests=(hers, nobodys, elsewhere), facts=facts)


def _bring(store: Store) -> None:
    with store.write() as session:
        assert keep_past(session, SYSTEM, _past()) == 4
    with store.read() as session:
        ids = list_not_worked_out(session, SYSTEM)
        done = work_out_past(session, read_told(session), ids, now=UNTIL)
    with store.write() as session:
        keep_worked_out(session, SYSTEM, done)
        assert list_not_worked_out(session, SYSTEM) == ()


def _told(store: Store, ward_id: str) -> list[tuple[str, Stage, str]]:
    with store.read() as session:
        raised = reminders_since(session, ward_id)
    return [(one.episode_id, one.stage, one.to) for one in raised if one.repeat == 0]


@ON_BOTH_ENGINES
def test_reminders_of_a_past_name_who_had_to_know_then(charting: Charting) -> None:
    _bring(charting.store)

    stages = (Stage.DUE, Stage.OVERDUE, Stage.ESCALATE, Stage.SECOND_ESCALATE)
    assert {one[0]: one[2] for one in _told(charting.store, "w1") if one[1] is Stage.DUE} == {
        "e1": NURSE.id,
        "e2": CHARGE.id,
    }
    assert {one[1:] for one in _told(charting.store, "w1") if one[0] == "e1"} == {
        *((stage, NURSE.id) for stage in (Stage.NOTICE, *stages[:2])),
        (Stage.ESCALATE, CHARGE.id),
        (Stage.SECOND_ESCALATE, "site manager"),
    }
    assert {one[1:] for one in _told(charting.store, "w2")} == {
        *((stage, "charge_nurse") for stage in (Stage.NOTICE, *stages[:3])),
        (Stage.SECOND_ESCALATE, "next_contact"),
    }
    assert charting.rebuild(UNTIL).differed == ()


def test_escalations_to_the_manager_are_the_managers(charting: Charting) -> None:
    policy = local_policy('[reminders.escalate_to]\nvalue = "manager"\n')
    charting.put_in_force(policy, when=-200)

    _bring(charting.store)

    told = _told(charting.store, "w1")
    assert {to for _, stage, to in told if stage is Stage.ESCALATE} == {"manager"}


ACTS: Final[tuple[Callable[[WriteSession, Actor], object], ...]] = (
    lambda session, actor: keep_past(session, actor, _past()),
    list_not_worked_out,
    lambda session, actor: keep_worked_out(session, actor, WorkedOut()),
)


@pytest.mark.parametrize("actor", [NURSE, COLLEAGUE, CHARGE, ON_A_WARD])
def test_nobody_but_a_program_for_all_wards_brings_a_past(store: Store, actor: Actor) -> None:
    with store.write() as session:
        for act in ACTS:
            with pytest.raises(Forbidden):
                act(session, actor)

    with store.read() as session:
        assert list_not_worked_out(session, SYSTEM) == ()
