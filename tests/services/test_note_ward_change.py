"""What a ward changed is noted by who answers for it, and withdrawn without being lost."""

from dataclasses import replace
from datetime import date

import pytest

from server.domain.audit import AuditAct
from server.domain.errors import Invalid
from server.domain.ward_change import WardChange
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.note_ward_change import note_ward_change, withdraw_ward_change
from server.store.ward_changes import ward_changes_between
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, PROGRAM
from tests.services.trail import said

MONDAY = date(2026, 3, 2)


def noted(
    charting: Charting, actor: Actor = MANAGER, text: str = " new porter round "
) -> WardChange:
    with charting.store.write() as session:
        return note_ward_change(session, actor, "w1", MONDAY, text, now=at(5))


def changes(charting: Charting) -> tuple[WardChange, ...]:
    with charting.store.read() as session:
        return ward_changes_between(session, ["w1"], MONDAY, MONDAY)


@ON_BOTH_ENGINES
def test_a_change_is_kept_and_stays_readable_when_it_is_withdrawn(charting: Charting) -> None:
    change = noted(charting)
    with charting.store.write() as session:
        withdraw_ward_change(session, CHARGE, change.id, now=at(9))

    kept = WardChange(change.id, "w1", MONDAY, "new porter round", MANAGER.id, at(5))
    assert change == kept
    assert changes(charting) == (replace(kept, withdrawn_by=CHARGE.id, withdrawn_at=at(9)),)
    noted_by = [(MANAGER.id, AuditAct.CHANGE_NOTED), (CHARGE.id, AuditAct.CHANGE_WITHDRAWN)]
    assert said(charting.store, "actor_id", "act", "ward_id", "detail")[-2:] == [
        (who, act, "w1", '{"day":"2026-03-02"}') for who, act in noted_by
    ]


def test_a_change_is_withdrawn_once(charting: Charting) -> None:
    change = noted(charting)

    for expected in (None, Conflict):
        with charting.store.write() as session:
            if expected is None:
                withdraw_ward_change(session, MANAGER, change.id, now=at(9))
                continue
            with pytest.raises(expected, match="withdrawn before"):
                withdraw_ward_change(session, MANAGER, change.id, now=at(10))


@pytest.mark.parametrize("actor", [NURSE, ADMINISTRATOR, PROGRAM, OUTSIDE_CHARGE])
def test_who_does_not_answer_for_the_ward_can_do_neither(charting: Charting, actor: Actor) -> None:
    change = noted(charting)

    with pytest.raises(Forbidden):
        noted(charting, actor)
    with pytest.raises(Forbidden), charting.store.write() as session:
        withdraw_ward_change(session, actor, change.id, now=at(9))
    assert changes(charting) == (change,)


def test_a_change_has_words_and_one_that_is_not_there_cannot_be_withdrawn(
    charting: Charting,
) -> None:
    for text in ("", " ", "x" * 201):
        with pytest.raises(Invalid) as refused:
            noted(charting, text=text)
        assert refused.value.field == "text"
    with pytest.raises(NotFound), charting.store.write() as session:
        withdraw_ward_change(session, MANAGER, "none", now=at(9))
    assert changes(charting) == ()
