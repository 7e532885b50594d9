"""The past of the invented hospital: told in bulk, it is what would have been lived by facts."""

import signal
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

import pytest
from sqlalchemy import select

from seed_demo.options import read_options
from seed_demo.run import main
from seed_demo.set_up import set_up_ward
from seed_demo.staff import PEOPLE, WARD_ID
from seed_demo.year.hospital import Year, open_hospital, tell_year
from seed_demo.year.lantern import tell_weeks
from seed_demo.year.people import everybody
from server.clock import Clock
from server.domain.clock import BREACHED
from server.domain.events import Event
from server.domain.payloads import Observed, Voided
from server.domain.request import Patient
from server.domain.words import ClockName, Kind, Role
from server.services.actor import SYSTEM, Actor
from server.services.open_order import OrderDraft, open_order
from server.services.rebuild import rebuild
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.services.tick import tick
from server.settings import Settings
from server.store.breach_rows import passed_between
from server.store.due import earliest_change
from server.store.log import Logged, events_after
from server.store.migrate import migrate
from server.store.orders import Order, orders_of_ward
from server.store.patients import read_patients
from server.store.states import read_states
from server.store.store import Store
from server.store.tables import CATALOGUE
from server.store.ward_changes import ward_changes_between
from tests.services.demo_ward import START, board_of, opened

UNTIL: Final = datetime(2026, 3, 30, 11, tzinfo=UTC)
YEAR: Final = Year(wards=3, episodes=90, seed=4, until=UNTIL, timezone="Pacific/Auckland", days=6)
SHORT: Final = Year(wards=1, episodes=14, seed=112, until=UNTIL, timezone="Europe/London", days=3)

COMPARED: Final = {
    "event": (),
    "patient_change": (),
    "blood_order": (),
    "episode": (),
    "transition": ("position",),
    "reminder": ("id", "change_revision"),
    "clock_state": (),
    "episode_state": ("change_revision",),
    "issued_unit": (),
}
"""Tables that must agree however a past came in, and the columns that may not."""


TELLING: Final = {
    Kind.REACTION_CLOSED,
    Kind.STOPPED,
    Kind.VOIDED,
    Kind.ACKNOWLEDGED,
    Kind.CAUSE_GIVEN,
}
"""What must have happened in a past, for a comparison to say much."""


def _quietly(_what: str, _done: int, _of: int) -> None:
    return


def _told(file: Path, year: Year, **how: int) -> Path:
    with opened(file) as store:
        migrate(store)
        assert (
            tell_year(store, f"sqlite:///{file}", year, progress=_quietly, **how) == year.episodes
        )
    return file


@pytest.fixture(autouse=True)
def _own_signals() -> Iterator[None]:
    before = signal.getsignal(signal.SIGTERM)
    yield
    signal.signal(signal.SIGTERM, before)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where this module keeps its databases."""
    return tmp_path_factory.mktemp("year")


@pytest.fixture(scope="module")
def told(folder: Path) -> Iterator[Store]:
    """Six days of three wards; nobody here changes them but by ticks."""
    with opened(_told(folder / "told.db", YEAR)) as store:
        yield store


def test_nothing_is_left_to_rebuild_then_or_a_day_later(told: Store) -> None:
    then = rebuild(told, lambda: UNTIL)
    later = rebuild(told, lambda: UNTIL + timedelta(days=1))

    assert [(one.episodes, one.differed) for one in (then, later)] == [(90, ())] * 2


def test_the_same_seed_gives_the_same_past_in_however_many_processes(
    told: Store, folder: Path
) -> None:
    with opened(_told(folder / "again.db", YEAR, alone=0)) as again:
        assert _rows(again) == _rows(told)


def test_facts_follow_each_other_in_the_order_of_recording_and_end_with_the_past(
    told: Store,
) -> None:
    facts = _facts(told)

    places = [(one.event.recorded_at, one.event.position) for one in facts]
    assert places == sorted(places)
    assert {one.event.recorded_at <= UNTIL for one in facts} == {True}
    assert {one.event.happened_at <= one.event.recorded_at for one in facts} == {True}


def test_there_are_late_entries_corrections_and_about_thirty_facts_a_unit(told: Store) -> None:
    facts = [one.event for one in _facts(told)]

    late = [one for one in facts if one.is_late_entry(timedelta(minutes=15))]
    voids = [one for one in facts if isinstance(one.payload, Voided)]
    assert {type(one.payload) for one in late} == {Observed}
    assert len(voids) > 0
    assert 28 < len(facts) / YEAR.episodes < 38


def test_limits_were_passed_and_some_of_them_explained(told: Store) -> None:
    first = UNTIL - timedelta(days=YEAR.days)
    with told.read() as session:
        wards = [ward.id for ward in YEAR.plans]
        passed = passed_between(session, wards, first, UNTIL)

    causes = {one.cause is None for one in passed}
    assert {one.state for one in passed} <= BREACHED
    assert {ClockName.START, ClockName.FIRST_CHECK} <= {one.clock for one in passed}
    assert causes == {True, False}


def test_the_command_fills_a_database_once_and_says_how_to_open_it(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = folder / "command.db"
    asked = ["--year", "--wards", "1", "--episodes", "6", "--until", "2026-03-01"]
    given = [*asked, "--timezone", "Europe/Oslo", "--database", str(file)]

    ended = [main(given, _serve_nothing), main(given, _serve_nothing)]

    said, refused = capsys.readouterr()
    with opened(file) as store, store.read() as session:
        states = read_states(session, [f"harbour-{n:05}-1" for n in range(1, 7)])
    assert ended == [0, 1]
    assert "6 units on 1 ward, 2025-03-01 to 2026-03-01" in said
    assert f"FOURTH_HOUR_DATABASE=sqlite:///{file} fourth-hour serve" in said
    assert f"{file} holds wards; a year wants a new database" in refused
    assert len(states) > 3


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--year"], "name it with --database FILE"),
        (["--episodes", "11"], "expected at least one for each ward"),
        (["--wards", "13"], "13 is not from 1 to 12"),
        (["--until", "yesterday"], "yesterday is no day such as 2026-03-01"),
    ],
)
def test_a_wrong_option_of_the_year_is_refused(
    given: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        read_options(given)

    assert said in capsys.readouterr().err


def test_a_past_does_not_reach_into_the_future(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["--year", "--until", "9998-01-01", "--database", str(folder / "future.db")]

    assert main(given, _serve_nothing) == 1
    assert "--until 9998-01-01: expected a day that is over" in capsys.readouterr().err


def _serve_nothing(_settings: Settings, _store: Store, _clock: Clock) -> None:
    raise AssertionError("a year is filled, not served")


def test_a_past_told_in_bulk_is_what_ticks_and_forms_would_have_made_of_it(folder: Path) -> None:
    """Each fact is recorded again by the use case of the page, each second that matters ticked."""
    with opened(_told(folder / "short.db", SHORT)) as bulk, opened(folder / "lived.db") as lived:
        migrate(lived)
        open_hospital(lived, SHORT)
        _live(lived, bulk)

        assert _rows(lived) == _rows(bulk)
        assert {one.event.kind for one in _facts(bulk)} >= TELLING


def test_the_demonstrations_ward_has_a_past_of_which_nothing_is_left_open(folder: Path) -> None:
    """Its own people, its own shifts; the board shows none of it any more."""
    with opened(folder / "lantern.db") as store:
        migrate(store)
        with store.write() as session:
            set_up_ward(session, start=START, timezone="Europe/Oslo")

        told = tell_weeks(store, seed=1, start=START, timezone="Europe/Oslo", weeks=2)

        with store.read() as session:
            day = (START - timedelta(weeks=1)).date()
            (change,) = ward_changes_between(session, [WARD_ID], day - timedelta(weeks=1), day)
            nurses = {one.event.staff_id for one in _facts(store) if one.event.staff_id}
        assert (told, board_of(store).rows) == (56, ())
        assert rebuild(store, lambda: START).differed == ()
        assert nurses <= PEOPLE.keys()
        assert change.text == "new porter round, bags counted at handover"


def _live(lived: Store, bulk: Store) -> None:
    with bulk.read() as session:
        orders = orders_of_ward(session, "harbour")
        patients = read_patients(session, [order.patient_id for order in orders])
    acts: list[tuple[datetime, int, Any]] = [(one.recorded_at, 0, one) for one in orders]
    acts += [(one.event.recorded_at, one.event.position, one.event) for one in _facts(bulk)]
    for at, _, act in sorted(acts, key=lambda act: act[:2]):
        _tick_until(lived, at - timedelta(seconds=1))
        if isinstance(act, Order):
            _place(lived, act, patients)
        else:
            _record(lived, act)
    _tick_until(lived, UNTIL)


def _tick_until(store: Store, until: datetime) -> None:
    while True:
        with store.read() as session:
            change = earliest_change(session)
        if change is None or change > until:
            return
        tick(store, now=change)


def _place(store: Store, order: Order, patients: dict[str, Patient]) -> None:
    now = order.recorded_at
    known, names = patients[order.patient_id], PatientDraft.__match_args__
    facts: dict[str, Any] = {name: getattr(known, name) for name in names}
    given: dict[str, Any] = {name: getattr(order, name, None) for name in OrderDraft.__match_args__}
    draft = replace(OrderDraft(**given), requested_at=now)
    with store.write() as session:
        if not read_patients(session, [order.patient_id]):
            register_patient(session, SYSTEM, PatientDraft(**facts), now=now)
        open_order(session, _actor(order.recorded_by), draft, now=now)


def _record(store: Store, event: Event) -> None:
    draft = Draft(event.kind, event.happened_at, event.payload, event.staff_id, id=event.id)
    with store.write() as session:
        record_event(
            session, _actor(event.recorded_by), str(event.episode_id), draft, now=event.recorded_at
        )


def _actor(key: str) -> Actor:
    drafts = {person.id: person for person in everybody(SHORT.plans, SHORT.seed)}
    if key not in drafts:
        return Actor(key, key, Role.INTERFACE, None)
    return Actor(key, key, drafts[key].role, drafts[key].wards, staff_id=key)


def _facts(store: Store) -> list[Logged]:
    with store.read() as session:
        return list(events_after(session, 0, limit=100_000))


def _rows(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of the tables that must agree, in an order of their own."""
    with store.read() as session:
        found = {}
        for name, left_out in COMPARED.items():
            table = CATALOGUE.tables[name]
            columns = [column for column in table.columns if column.name not in left_out]
            found[name] = sorted(map(tuple, session.rows(select(*columns))), key=repr)
        return found
