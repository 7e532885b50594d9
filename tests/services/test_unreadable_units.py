"""A unit whose facts cannot be read or followed: every list goes on without it, and it is named."""

from collections.abc import Callable
from typing import Any, Final

import pytest
from sqlalchemy import text

from server.domain.payloads import Note
from server.domain.words import ClockName, Kind
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
from server.services.read_unreadable import read_unreadable
from server.services.record_event import Draft, record_event
from server.services.replay_ward import replay_ward
from server.services.review_rates import Asked as Rated
from server.services.review_rates import review_rates
from server.services.unreadable import noticed, noticing
from server.store.requests import read_request
from server.store.sessions import ReadSession, WriteSession
from tests.domain.builders import FULL, at
from tests.services.charting import Charting, ids_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.services.poison import CANNOT_BE_READ, EVERY_KIND, tamper, three_units

NOW: Final = at(120)
chart = three_units
DAY: Final = Stretch(at(-600), at(600))

Answer = Callable[[ReadSession], Any]


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
