"""What is recorded on one unit and concerns the patient's others: giving sets and reactions."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.domain.facts import HungSet
from server.domain.payloads import (
    Issued,
    Note,
    ReactionClosed,
    ReactionSuspected,
    SetChanged,
    SetHung,
    Voided,
)
from server.domain.reaction import Elsewhere
from server.domain.words import Component
from server.store.requests import add_requests
from server.store.sessions import ReadSession
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
        assert shared_facts(session, ["p1", "p2", "p3"]) == {
            "p1": SharedFacts(
                (HungFor("e1", HungSet(at(0), RED)), HungFor("e3", HungSet(at(30), PLATELETS)))
            ),
            "p2": SharedFacts((HungFor("e2", HungSet(at(20), RED)),)),
        }


def test_the_line_is_answered_as_it_was_known(store: Store) -> None:
    with store.read() as session:
        assert shared_facts(session, ["p1"], known_at=at(29))["p1"].hung == (
            HungFor("e1", HungSet(at(0), RED)),
            HungFor("e1", HungSet(at(10), RED)),
        )


@pytest.fixture
def _reactions(store: Store) -> None:
    """Two suspicions with `e1`, the first closed, and one with `e3` that is voided."""
    with store.write() as session:
        record(session, -5, Issued(unit_number="G0999"))
        record(session, 50, ReactionSuspected(("rash",)))
        record(session, 60, ReactionClosed("none"))
        record(session, 70, ReactionSuspected())
        wrong = record(session, 55, ReactionSuspected(), episode_id="e3")
        record(session, 56, Voided(wrong.id, "the other bag"), episode_id="e3")


def suspected(session: ReadSession, **known: datetime) -> tuple[Elsewhere, ...]:
    return shared_facts(session, ["p1"], **known)["p1"].suspected


@pytest.mark.usefixtures("_reactions")
def test_suspected_reactions_come_with_the_unit_they_are_suspected_with(store: Store) -> None:
    here = Elsewhere("e1", "4", RED, "G0999", at(50), at(60))

    with store.read() as session:
        assert suspected(session) == (here, replace(here, since=at(70), closed_at=None))


@pytest.mark.usefixtures("_reactions")
def test_suspected_reactions_are_answered_as_they_were_known(store: Store) -> None:
    first = Elsewhere("e1", "4", RED, "G0999", at(50))
    mistake = Elsewhere("e3", "4", PLATELETS, None, at(55))

    with store.read() as session:
        assert suspected(session, known_at=at(52)) == (first,)
        assert suspected(session, known_at=at(55)) == (first, mistake)
        assert suspected(session, known_at=at(56)) == (first,)
