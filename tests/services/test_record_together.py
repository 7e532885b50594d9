"""Several facts as one: all of them or none."""

import pytest

from server.domain.errors import Refused
from server.domain.payloads import Inspected, Received, Started
from server.domain.words import Kind
from server.services.record_event import Draft
from server.services.record_together import record_together
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import NURSE

RECEIVED = Draft(Kind.RECEIVED, at(5), Received())
SOUND = Draft(Kind.INSPECTED, at(5), Inspected())


def test_each_is_a_fact_of_its_own(charting: Charting) -> None:
    charting.open()
    charting.issue()

    with charting.store.write() as session:
        recorded = record_together(session, NURSE, "e1", [RECEIVED, SOUND], now=at(6))

    events = charting.episode(6).events[-2:]
    assert [event.kind for event in events] == [Kind.RECEIVED, Kind.INSPECTED]
    assert [event.id for event in events] == [one.event_id for one in recorded]


def test_one_that_is_refused_keeps_the_others_out(charting: Charting) -> None:
    charting.open()
    charting.issue()
    before = charting.everything()
    drafts = [RECEIVED, Draft(Kind.STARTED, at(5), Started(60))]

    with pytest.raises(Refused), charting.store.write() as session:
        record_together(session, NURSE, "e1", drafts, now=at(6))

    assert charting.everything() == before
