"""What is recorded, worked out and rebuilt where facts of a unit cannot be read or followed."""

from typing import Final

import pytest
from sqlalchemy import insert, text

from server.domain.events import Event
from server.domain.payloads import Note, Payload, ReactionStep, Started, Voided
from server.domain.words import Recheck
from server.services.errors import Unreadable
from server.services.read_linked import read_linked
from server.services.rebuild import Rebuilt
from server.services.refresh import refresh
from server.services.set_aside import RETRY_AFTER
from server.services.unreadable import noticed, noticing
from server.services.upgrade_database import upgrade_database
from server.store.ids import new_id
from server.store.log import append_events, next_position
from server.store.sessions import WriteSession
from server.store.tables import UPGRADE_WORK
from server.store.upgrade_work import DERIVED_ROWS, ISSUED_UNITS
from tests.domain.builders import KIND_OF, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE
from tests.services.poison import CANNOT_BE_FOLLOWED, EVERY_KIND, tamper, three_units
from tests.services.reaction import SUSPECTED

NOW: Final = at(120)
chart = three_units


@ON_BOTH_ENGINES
@EVERY_KIND
def test_a_set_of_the_patient_is_kept_for_the_other_units(ward: Charting, setting: str) -> None:
    tamper(ward.store, setting)

    recorded = ward.observe(121, "p1")

    after = ward.episode(122, "e3")
    assert [one.id for one in after.observations][-1] == recorded.event_id
    assert ward.state("e3").revision == recorded.revision
    assert (ward.state("e1").fault is None, ward.state("e3").fault) == (False, None)
    assert ward.state("e1").next_change_at == at(121) + RETRY_AFTER


def test_what_cannot_be_followed_is_mended_by_taking_it_back(ward: Charting) -> None:
    extra = _add_past_the_program(ward, Started(80), minute=60)
    with pytest.raises(Unreadable):
        ward.record(121, Note("seen"))

    ward.record(122, Voided(extra, "entered twice"))

    assert ward.board(123).spoilt == ()
    assert ward.rebuild(123) == Rebuilt(4, ())


def test_a_void_that_mends_nothing_is_refused_as_what_it_is(ward: Charting) -> None:
    extra = _add_past_the_program(ward, Started(80), minute=60)
    _add_past_the_program(ward, Started(90), minute=61)
    before = ward.everything()

    with pytest.raises(Unreadable):
        ward.record(122, Voided(extra, "entered twice"))

    assert ward.everything() == before


def test_what_is_new_and_stops_a_unit_is_not_kept(ward: Charting) -> None:
    """Past the use case that would have refused it: working out is the last to be asked."""
    for forgotten in ("no such unit", "e1"):
        with pytest.raises(Unreadable):
            _record_past_the_program(ward, forgotten)

    assert ward.board(121).spoilt == ()


@ON_BOTH_ENGINES
@EVERY_KIND
def test_a_rebuild_names_it_and_leaves_its_rows(ward: Charting, setting: str) -> None:
    before = ward.state("e1"), ward.clocks("e1")
    tamper(ward.store, setting)

    rebuilt = ward.rebuild(119)

    assert rebuilt == Rebuilt(4, (), ("e1",))
    assert (ward.state("e1"), ward.clocks("e1")) == before


@EVERY_KIND
def test_an_upgrade_goes_on_without_it(ward: Charting, setting: str) -> None:
    tamper(ward.store, setting)
    with ward.store.write() as session:
        for work in (ISSUED_UNITS, DERIVED_ROWS):
            session.run(insert(UPGRADE_WORK), [{"name": work}])

    assert upgrade_database(ward.store, now=NOW)

    assert ward.rebuild(120).unreadable == ("e1",)


def test_a_warning_reaches_the_other_units(ward: Charting) -> None:
    ward.record(115, SUSPECTED, "e2")
    tamper(ward.store, CANNOT_BE_FOLLOWED)

    with noticing():
        ward.record(118, ReactionStep("recheck_identity", Recheck.WRONG), "e2")
        left_out = [one.id for one in noticed()]
    with ward.store.read() as session:
        linked = read_linked(session, CHARGE, "w1", "e2", now=NOW)

    assert ([one.episode_id for one in linked], left_out) == (["e3"], ["e1"])


def _event(session: WriteSession, payload: Payload, minute: float) -> Event:
    return Event(
        id=new_id(),
        kind=KIND_OF[type(payload)],
        happened_at=at(minute),
        recorded_at=NOW,
        payload=payload,
        recorded_by="nobody",
        position=next_position(session),
        episode_id="e1",
    )


def _record_past_the_program(charting: Charting, forgotten: str) -> None:
    """Have a unit worked out with a second start, after its derived row was perhaps forgotten."""
    with charting.store.write() as session:
        session.run(text(f"DELETE FROM episode_state WHERE episode_id = '{forgotten}'"))  # noqa: S608
        append_events(session, [_event(session, Started(80), 60)], patient_id="p1", ward_id="w1")
        refresh(session, ["e1"], now=NOW)


def _add_past_the_program(charting: Charting, payload: Payload, minute: float) -> str:
    """Append a fact that the program would have refused; its id."""
    with charting.store.write() as session:
        event = _event(session, payload, minute)
        append_events(session, [event], patient_id="p1", ward_id="w1")
    return event.id
