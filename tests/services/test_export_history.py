"""What was given on a ward, as records that can be read in again."""

from dataclasses import replace

import pytest

from server.domain.payloads import Completed, Issued, Stopped, Voided
from server.services.errors import Forbidden, NotFound
from server.services.export_history import export_episodes, export_observations
from server.services.history import HistoryEpisode, HistoryObservation
from tests.domain.builders import FULL, at
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, MANAGER, OUTSIDER, PROGRAM
from tests.services.records import LATER, SET, UNIT, read_in


def _exported(charting: Charting, ward_id: str = "w1") -> list[HistoryEpisode]:
    with charting.store.read() as session:
        return list(export_episodes(session, MANAGER, ward_id, now=LATER))


def _sets(charting: Charting) -> list[HistoryObservation]:
    with charting.store.read() as session:
        return list(export_observations(session, MANAGER, "w1", now=LATER))


def test_a_record_that_was_read_in_comes_out_as_it_went_in(charting: Charting) -> None:
    stopped = replace(UNIT, line=3, episode_id="u2", end_reason="rigors", given_ml=90)
    running = replace(UNIT, line=4, episode_id="u3", ended_at=None, given_ml=None, end_reason=None)
    read_in(charting, UNIT, stopped, running, sets=(SET,))

    assert _exported(charting) == [replace(unit, line=0) for unit in (UNIT, stopped, running)]
    assert _sets(charting) == [replace(SET, line=0)]


def test_what_comes_out_is_there_already_when_it_is_read_in(charting: Charting) -> None:
    read_in(charting, UNIT, sets=(SET,))

    again = read_in(charting, *_exported(charting), sets=tuple(_sets(charting)))

    assert (again.episodes, again.observations, again.already) == (0, 0, 2)


def test_a_live_unit_comes_out_with_what_was_charted(charting: Charting) -> None:
    charting.run()
    charting.record(100, Stopped("rigors", 90))

    (record,) = _exported(charting)

    assert (record.issued_at, record.removed_at, record.started_at) == (at(0), at(0), at(10))
    assert (record.ended_at, record.given_ml, record.end_reason) == (at(100), 90, "rigors")
    assert (record.rate_ml_h, record.volume_ml, record.recorded_at) == (60, 280, at(10))


def test_without_a_reading_what_was_given_is_what_the_rates_give(charting: Charting) -> None:
    charting.run()
    charting.record(70, Completed())

    assert _exported(charting)[0].given_ml == 60


def test_a_unit_that_was_never_started_is_no_record(charting: Charting) -> None:
    charting.open("waiting")
    charting.open("issued")
    charting.record(0, Issued(), "issued")
    charting.run("voided")
    start = charting.episode(20, "voided").events[-1]
    charting.record(20, Voided(start.id, "other bed"), "voided")

    assert _exported(charting) == []


def test_a_set_comes_out_once_for_all_units_and_a_voided_one_not_at_all(
    charting: Charting,
) -> None:
    charting.run("e1")
    charting.run("e2")
    wrong = charting.observe(25)
    charting.record(26, Voided(wrong.event_id, "other patient"), "e1")

    happened = [(one.patient_id, one.happened_at, one.observed) for one in _sets(charting)]

    assert happened == [("p1", at(5), FULL)] * 2


def test_only_the_ward_s_own_come_out(charting: Charting) -> None:
    read_in(charting, UNIT, sets=(SET,))

    with charting.store.read() as session:
        for export in (export_episodes, export_observations):
            with pytest.raises(Forbidden):
                export(session, OUTSIDER, "w1", now=LATER)
            with pytest.raises(NotFound):
                export(session, PROGRAM, "w7", now=LATER)
            assert list(export(session, OUTSIDER, "w2", now=LATER)) == []
            assert len(list(export(session, ADMINISTRATOR, "w1", now=LATER))) == 1


def test_many_records_come_out_batch_by_batch(charting: Charting) -> None:
    units = [replace(UNIT, line=n, episode_id=f"u{n:03}", patient_id=f"h{n}") for n in range(201)]
    sets = tuple(replace(SET, line=n, patient_id=f"h{n}") for n in range(201))
    read_in(charting, *units, sets=sets)

    assert [one.episode_id for one in _exported(charting)] == [one.episode_id for one in units]
    assert len(_sets(charting)) == 201
