"""An upgrade leaves no bag unguarded that was issued before there was a table for held bags."""

import shutil
from pathlib import Path

import pytest
from sqlalchemy import text

from server.domain.issued_units import IssuedUnit
from server.domain.payloads import Assigned, CauseGiven, Completed, Confirmed, Issued, Returned
from server.domain.words import ClockName, Confirmation
from server.services.errors import Conflict
from server.services.upgrade_database import upgrade_database
from server.store.issued_units import read_issued_units
from server.store.migrate import FOLDER
from server.store.upgrade_work import DERIVED_ROWS, ISSUED_UNITS, work_left
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import PROGRAM

BAG = Issued(unit_number="A999926000001", product_code="E0336", division="00")
HELD = IssuedUnit("e1", "A999926000001", "E0336", "00", at(0))


def forget(charting: Charting) -> None:
    """As the database was before it: facts, and a table that nobody has filled."""
    with charting.store.write() as session:
        session.run(text("DELETE FROM issued_unit"))
        session.run(
            text("INSERT INTO upgrade_work (name) VALUES (:name)"), [{"name": ISSUED_UNITS}]
        )


def held(charting: Charting) -> dict[str, IssuedUnit]:
    with charting.store.read() as session:
        return read_issued_units(session, ["e1", "e2", "e3"])


@ON_BOTH_ENGINES
def test_bags_issued_before_are_guarded_after_the_upgrade(
    charting: Charting, monkeypatch: pytest.MonkeyPatch
) -> None:
    # One a batch: the walk over everything has to go on after the first.
    monkeypatch.setattr("server.services.upgrade_database.BATCH", 1)
    for episode_id, patient in (("e1", "p1"), ("e2", "p2"), ("e3", "p2")):
        charting.open(episode_id, patient)
    charting.record(0, BAG, "e1", actor=PROGRAM)
    charting.record(1, Issued(unit_number="G7"), "e2", actor=PROGRAM)
    charting.record(5, Returned(), "e2")
    kept = held(charting)
    forget(charting)

    assert (held(charting), upgrade_database(charting.store, now=at(9))) == ({}, True)

    assert held(charting) == kept
    assert kept["e1"] == HELD
    with pytest.raises(Conflict, match="already issued for another request"):
        charting.record(10, BAG, "e3", actor=PROGRAM)
    assert upgrade_database(charting.store, now=at(11)) is False
    assert charting.rebuild(12).differed == ()


def test_the_step_of_the_schema_leaves_them_to_the_program(
    charting: Charting, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    charting.open("e1", "p1")
    charting.record(0, BAG, "e1", actor=PROGRAM)
    forget(charting)
    folder = shutil.copytree(FOLDER, tmp_path / "migrations")
    for step in folder.glob("versions/00*.py"):
        if step.name > "0014":
            step.unlink()
    monkeypatch.setattr("server.store.migrate.FOLDER", folder)
    with charting.store.write() as session:
        session.run(text("DROP TABLE upgrade_work"))
        session.run(text("UPDATE alembic_version SET version_num = '0012'"))

    assert upgrade_database(charting.store, now=at(9))

    assert held(charting) == {"e1": HELD}


def test_what_was_broken_off_is_done_at_the_next_start(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.record(0, BAG, "e1", actor=PROGRAM)
    forget(charting)

    with charting.store.read() as session:
        left = work_left(session)
    done = [upgrade_database(charting.store, now=at(9)) for _ in range(2)]

    assert (set(left), done) == ({ISSUED_UNITS}, [True, False])
    assert held(charting) == {"e1": HELD}


@ON_BOTH_ENGINES
def test_rows_from_before_there_was_a_review_are_worked_out_again(charting: Charting) -> None:
    charting.open("e1", "p1", nurse_id="nurse-1")
    charting.issue("e1", removed_at=at(-2))
    charting.record(29, Assigned("nurse-2"))
    charting.record(31, Assigned("nurse-1"))
    charting.record(40, CauseGiven(ClockName.START, "porter late"))
    charting.record(41, Returned())
    kept = charting.state("e1"), charting.clocks("e1")["start:1"]
    with charting.store.write() as session:
        session.run(text("UPDATE episode_state SET component = NULL, removed_at = NULL"))
        session.run(text("UPDATE clock_state SET component = NULL, nurse_id = NULL, cause = NULL"))
        session.run(text("INSERT INTO upgrade_work (name) VALUES (:n)"), [{"n": DERIVED_ROWS}])

    done = [upgrade_database(charting.store, now=at(50)) for _ in range(2)]

    state, start = charting.state("e1"), charting.clocks("e1")["start:1"]
    assert (done, (state, start)) == ([True, False], kept)
    assert (state.component, state.removed_at, state.fate_at) == ("red_cells", at(-2), at(41))
    assert (start.component, start.nurse_id, start.cause) == ("red_cells", "nurse-2", "porter late")


def test_a_reassessment_after_the_unit_is_kept_with_its_state(charting: Charting) -> None:
    charting.run()
    charting.record(100, Completed())
    charting.record(130, Confirmed(Confirmation.REASSESSED))

    assert charting.state("e1").reassessed_at == at(130)
