"""A unit whose facts cannot be read or followed: every list goes on without it, and it is named."""

from collections.abc import Callable
from typing import Any, Final

import pytest
from sqlalchemy import insert, text

from server.domain.events import Event
from server.domain.payloads import Note, Payload, ReactionStep, Started, Voided
from server.domain.words import ClockName, Kind, Recheck
from server.domain.workload.period import Period as Stretch
from server.services.acknowledge import acknowledge
from server.services.errors import Forbidden, Unreadable
from server.services.explain_breach import explain_breach
from server.services.export_history import export_episodes, export_observations
from server.services.find_breaches import Asked, find_breaches, find_kept
from server.services.last_known import count_on
from server.services.list_breaches import list_breaches
from server.services.list_due import list_due
from server.services.list_mine import list_mine
from server.services.list_waiting_checks import list_waiting_checks
from server.services.live_board import LiveBoards
from server.services.open_check import open_check
from server.services.passed_limits import EVER
from server.services.planning_ground import Asked as Planned
from server.services.planning_ground import read_ground
from server.services.read_episode import read_episode
from server.services.read_linked import read_linked
from server.services.read_unreadable import read_unreadable
from server.services.rebuild import Rebuilt
from server.services.record_event import Draft, record_event
from server.services.refresh import refresh
from server.services.replay_ward import replay_ward
from server.services.review_rates import Asked as Rated
from server.services.review_rates import review_rates
from server.services.set_aside import RETRY_AFTER
from server.services.unreadable import noticed, noticing
from server.services.upgrade_database import upgrade_database
from server.store.ids import new_id
from server.store.log import append_events, next_position
from server.store.requests import read_request
from server.store.sessions import ReadSession, WriteSession
from server.store.tables import UPGRADE_WORK
from server.store.upgrade_work import DERIVED_ROWS, ISSUED_UNITS
from tests.domain.builders import FULL, KIND_OF, at
from tests.services.charting import Charting, ids_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, COLLEAGUE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.services.poison import CANNOT_BE_FOLLOWED, CANNOT_BE_READ, KINDS, tamper
from tests.services.reaction import SUSPECTED

EVERY_KIND: Final = pytest.mark.parametrize("setting", KINDS.values(), ids=KINDS)
NOW: Final = at(120)
DAY: Final = Stretch(at(-600), at(600))

Answer = Callable[[ReadSession], Any]


def chart(charting: Charting) -> None:
    """`e1`, `e2` and `e3` of two patients run from 10 min, the nurse's; two of them late.

    An identity check of `e4` waits for the second person.
    """
    for number, patient in ((1, "p1"), (2, "p2"), (3, "p1")):
        charting.run(f"e{number}", patient, bed=f"{number}", nurse_id="nurse-1")
    charting.open("e4", "p2", bed="4")
    charting.issue("e4", minute=100)
    with charting.store.write() as session:
        open_check(session, COLLEAGUE, "e4", now=at(119))
    charting.tick(119)


def units(found: Any) -> list[str]:
    """The ids of the units of breaches, things owed or one's own list, each once."""
    return sorted({one.picture.case.request.id for one in found})


LISTS: Final[dict[str, tuple[Answer, list[str]]]] = {
    "mine": (lambda s: units(list_mine(s, NURSE, now=NOW).units), ["e2", "e3"]),
    "due": (lambda s: units(list_due(s, PROGRAM, "w1", now=NOW)), ["e2", "e3", "e4"]),
    "breaches": (lambda s: units(list_breaches(s, PROGRAM, "w1", now=NOW)), ["e2", "e3"]),
    "breaches as known": (
        lambda s: units(list_breaches(s, PROGRAM, "w1", now=NOW, at=at(110), known_at=at(110))),
        ["e2", "e3"],
    ),
    "a page of breaches": (
        lambda s: units(find_breaches(s, MANAGER, Asked({"w1": EVER}), now=NOW).rows),
        ["e2", "e3"],
    ),
    "replay": (
        lambda s: ids_of(replay_ward(s, MANAGER, "w1", at=at(110)).now.board),
        ["e2", "e3", "e4"],
    ),
    "plan": (
        lambda s: read_ground(s, CHARGE, "w1", Planned(), now=NOW).pictures,
        ["e2", "e3", "e4"],
    ),
    "export": (
        lambda s: [one.episode_id for one in export_episodes(s, PROGRAM, "w1", now=NOW)],
        ["e2", "e3"],
    ),
}
"""What is asked, and the units that are answered when `e1` cannot be read."""


ACTS: Final[tuple[Callable[[WriteSession], Any], ...]] = (
    lambda s: read_episode(s, CHARGE, "e1", now=NOW),
    lambda s: explain_breach(s, MANAGER, "e1", ClockName.FIRST_CHECK, 1, now=NOW),
    lambda s: acknowledge(s, NURSE, "e1", ClockName.FIRST_CHECK, now=NOW),
    lambda s: open_check(s, NURSE, "e1", now=NOW),
    lambda s: record_event(s, NURSE, "e1", Draft(Kind.NOTE, NOW, Note("seen")), now=NOW),
)


@ON_BOTH_ENGINES
@EVERY_KIND
def test_every_list_goes_on_and_it_is_noticed(ward: Charting, setting: str) -> None:
    tamper(ward.store, setting)

    answered, named = {}, {}
    with ward.store.read() as session:
        for name, (ask, _) in LISTS.items():
            with noticing():
                answered[name] = sorted(ask(session))
                named[name] = [one.id for one in noticed()]
        lost = list_mine(session, NURSE, now=NOW).lost
        rates = review_rates(session, MANAGER, "w1", Rated(DAY), now=at(180))

    assert answered == {name: expected for name, (_, expected) in LISTS.items()}
    assert named == {name: ["e1"] for name in LISTS}
    assert ([one.id for one in lost], noticed()) == (["e1"], ())
    assert rates.whole.tallies[ClockName.FIRST_CHECK].missed == 2


@EVERY_KIND
def test_a_board_that_counts_on_keeps_naming_it(ward: Charting, setting: str) -> None:
    boards = LiveBoards(ward.store)
    sound = boards.board("w1", at(119))
    tamper(ward.store, setting)
    spoilt = LiveBoards(ward.store).board("w1", at(119))

    assert [one.id for one in count_on(sound, NOW).spoilt] == []
    assert [one.id for one in count_on(spoilt, NOW).spoilt] == ["e1"]


@ON_BOTH_ENGINES
@EVERY_KIND
def test_nothing_is_asked_of_it_and_nothing_is_recorded_on_it(ward: Charting, setting: str) -> None:
    tamper(ward.store, setting)
    before = ward.everything()

    for act in ACTS:
        with pytest.raises(Unreadable) as refused, ward.store.write() as session:
            act(session)
        assert refused.value.unit.id == "e1"

    assert ward.everything() == before


@EVERY_KIND
def test_what_was_known_of_it_is_told_to_its_ward_alone(ward: Charting, setting: str) -> None:
    tamper(ward.store, setting)

    with ward.store.read() as session:
        unit = read_request(session, "e1")
        assert unit is not None
        known = read_unreadable(session, CHARGE, unit)
        with pytest.raises(Forbidden):
            read_unreadable(session, OUTSIDER, unit)

    assert known.request == unit
    assert (known.patient and known.patient.family_name, known.nurse_name) == (
        "Alder",
        "Nina Nurse",
    )
    assert known.state == ward.state()
    assert {f"{one.clock}:{one.n}": one for one in known.clocks} == ward.clocks()


def test_one_that_was_never_worked_out_is_told_by_its_request(ward: Charting) -> None:
    with ward.store.write() as session:
        session.run(text("DELETE FROM episode_state WHERE episode_id = 'e1'"))
        unit = read_request(session, "e1")
        assert unit is not None
        known = read_unreadable(session, CHARGE, unit)

    assert (known.state, known.nurse_name) == (None, None)


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


def test_sets_are_taken_away_without_those_of_a_unit_that_cannot_be_read(ward: Charting) -> None:
    tamper(ward.store, CANNOT_BE_READ)

    with ward.store.read() as session, noticing():
        sets = [one.patient_id for one in export_observations(session, PROGRAM, "w1", now=NOW)]
        left_out = [one.id for one in noticed()]

    assert (sorted(sets), left_out) == (["p1", "p1", "p2"], ["e1"])


def test_a_check_that_waits_is_not_listed_while_its_unit_cannot_be_read(ward: Charting) -> None:
    with ward.store.read() as session:
        before = list_waiting_checks(session, NURSE, now=NOW)
    tamper(ward.store, CANNOT_BE_READ, "e4")

    with ward.store.read() as session:
        after = list_waiting_checks(session, NURSE, now=NOW)

    assert ([one.episode_id for one in before], after) == (["e4"], ())


def test_what_was_kept_after_all_is_listed_without_it(ward: Charting) -> None:
    for unit in ("e1", "e2"):
        ward.record(25, FULL, unit, now=120)
    with ward.store.read() as session:
        before = find_kept(session, MANAGER, Asked({"w1": EVER}), now=at(121)).kept
    tamper(ward.store, CANNOT_BE_READ)

    with ward.store.read() as session:
        after = find_kept(session, MANAGER, Asked({"w1": EVER}), now=at(121))

    assert (units(before), units(after.kept), after.totals.kept) == (
        ["e1", "e2", "e3"],
        ["e2", "e3"],
        3,
    )


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
