"""The giving sets of a patient's line, over all units."""

import pytest

from server.domain.facts import HungSet
from server.domain.payloads import Note, SetChanged, SetHung, Voided
from server.domain.words import Component
from server.store.requests import add_requests
from server.store.shared_facts import HungFor, SharedFacts, shared_facts
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import at
from tests.store.facts import a_request, record

RED, PLATELETS = Component.RED_CELLS, Component.PLATELETS


@pytest.fixture(autouse=True)
def _line(store: Store, ward: Ward) -> None:
    """Three sets on the line of `p1`, the second of them voided later, and one of `p2`."""
    with store.write() as session:
        add_requests(session, [a_request("e3", "p1", ward_id=ward.id, component=PLATELETS)])
        record(session, 30, SetHung(), episode_id="e3")
        record(session, 0, SetHung())
        record(session, 5, Note("no set"))
        wrong = record(session, 10, SetChanged())
        record(session, 40, Voided(wrong.id, "wrong bed"))
        record(session, 20, SetHung(), episode_id="e2", patient_id="p2")


def test_the_sets_of_a_patient_come_in_order_with_what_they_were_hung_for(store: Store) -> None:
    with store.read() as session:
        assert sets_hung(session, ["p1", "p2", "p3"]) == {
            "p1": (HungFor("e1", HungSet(at(0), RED)), HungFor("e3", HungSet(at(30), PLATELETS))),
            "p2": (HungFor("e2", HungSet(at(20), RED)),),
        }


def test_the_line_is_answered_as_it_was_known(store: Store) -> None:
    with store.read() as session:
        assert sets_hung(session, ["p1"], known_at=at(29)) == {
            "p1": (HungFor("e1", HungSet(at(0), RED)), HungFor("e1", HungSet(at(10), RED)))
        }
