"""The database itself refuses to change or delete a fact."""

from typing import Final

import pytest
from sqlalchemy import text

from server.domain.audit import AuditAct, AuditEntry
from server.domain.payloads import Issued
from server.domain.ward_change import WardChange
from server.domain.words import ClockName, ClockState, Component
from server.store.audit import append_entries, keep_note
from server.store.errors import Clash
from server.store.orders import Order, add_order
from server.store.policies import PolicyText, keep_policy_text
from server.store.store import Store
from server.store.transitions import Transition, add_transitions
from server.store.ward_changes import add_ward_change, withdraw_ward_change
from server.store.wards import Ward
from tests.domain.builders import at
from tests.store.facts import record

KEYS: Final = {
    "event": "position",
    "episode": "id",
    "transition": "position",
    "blood_order": "id",
    "patient_change": "position",
    "policy_version": "version",
    "audit": "position",
    "audit_note": "number",
    "ward_change": "id",
    "withdrawn_change": "change_id",
}
# SQLite's REPLACE deletes without asking a trigger on DELETE, PostgreSQL's TRUNCATE likewise.
ACTS: Final = {
    "update": {"sqlite": "UPDATE {0} SET {1} = {1}", "postgresql": "UPDATE {0} SET {1} = {1}"},
    "delete": {"sqlite": "DELETE FROM {0}", "postgresql": "DELETE FROM {0}"},
    "wipe": {
        "sqlite": "REPLACE INTO {0} SELECT * FROM {0}",
        "postgresql": "TRUNCATE {0} CASCADE",
    },
}


@pytest.fixture(autouse=True)
def _facts(store: Store, ward: Ward) -> None:
    with store.write() as session:
        record(session, 0, Issued())
        crossing = Transition("e1", ClockName.START, 1, None, ClockState.OPEN, at(0), at(1))
        add_transitions(session, [crossing])
        order = Order("o1", "p1", ward.id, "4", Component.PLASMA, 1, at(0), "nurse-1")
        add_order(session, order)
        keep_policy_text(session, PolicyText("v1", "common", "text"))
        head = append_entries(session, [AuditEntry(at(0), "a", "A", "manager", AuditAct.LOCKED)])
        keep_note(session, head, at(0))
        change = WardChange("c1", ward.id, at(0).date(), "new porter round", "m1", at(0))
        add_ward_change(session, change)
        withdraw_ward_change(session, "c1", by="m1", at=at(1))


@pytest.mark.parametrize("table", KEYS)
@pytest.mark.parametrize("act", ACTS)
def test_a_fact_can_neither_be_changed_nor_deleted(store: Store, table: str, act: str) -> None:
    before = _rows(store, table)

    with pytest.raises(Clash, match=f"{table} is insert only"), store.write() as session:
        session.run(text(ACTS[act][session.engine_name].format(table, KEYS[table])))

    assert (len(before) > 0, _rows(store, table)) == (True, before)


def test_an_event_cannot_be_replaced_by_one_of_its_id(store: Store) -> None:
    before = _rows(store, "event")

    with pytest.raises(Clash), store.write() as session:
        record(session, 5, Issued(), id="e1")

    assert _rows(store, "event") == before


def _rows(store: Store, table: str) -> list[tuple[object, ...]]:
    with store.read() as session:
        return [tuple(row) for row in session.rows(text(f"SELECT * FROM {table}"))]  # noqa: S608
