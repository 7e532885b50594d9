"""Real transfusions read in whole, and judged as an independent reading of the rules judges them.

Contains information from the MIMIC-III Clinical Database Demo v1.4, which is made available under
the ODbL. The files are read where they lie; nothing of them is kept here.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import pytest

from server.domain.breach_list import Wanted
from server.domain.clock import BREACHED
from server.domain.review.periods import By
from server.domain.words import ClockName, Component
from server.domain.workload.period import Period as Stretch
from server.exchange.history_files import read_episodes, read_observations
from server.services.history import ImportReport
from server.services.import_history import import_history
from server.services.list_breaches import list_breaches
from server.services.list_due import list_due
from server.services.passed_limits import Period
from server.services.review_rates import Asked, review_rates
from tests.services.charting import Charting, ids_of
from tests.services.people import PROGRAM
from tests.services.random_files import fresh_stores
from tests.services.reread_rules import (
    Unit,
    Verdict,
    judge,
    read_components,
    read_full_sets,
    read_units,
)

NOW = datetime(2026, 3, 3, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
CHECKS = {
    ClockName.BASELINE_CHECK,
    ClockName.FIRST_CHECK,
    ClockName.RUNNING_CHECK,
    ClockName.END_CHECK,
}


class Imported(NamedTuple):
    """The real history on a ward, with how it was taken."""

    charting: Charting
    report: ImportReport
    again: ImportReport
    units: list[Unit]
    sets: dict[str, list[datetime]]
    components: dict[str, str]


@pytest.fixture(scope="module")
def real_folder(shared_folder: Path) -> Path:
    """The folder of real transfusions."""
    folder = shared_folder / "realdata"
    if not (folder / "episodes.csv").is_file():
        pytest.skip("REAL HISTORY MISSING: ../shared/realdata is not beside the project")
    return folder


@pytest.fixture(scope="module")
def real(
    real_folder: Path, sqlite_wards: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Imported]:
    """Everything read in, twice."""
    episodes, observations = real_folder / "episodes.csv", real_folder / "observations.csv"

    def read_in(charting: Charting) -> ImportReport:
        with episodes.open(newline="") as units, observations.open(newline="") as sets:
            return import_history(
                charting.store,
                PROGRAM,
                "w1",
                read_episodes(units),
                read_observations(sets),
                now=NOW,
            )

    file = tmp_path_factory.mktemp("real") / "wards.db"
    with fresh_stores(sqlite_wards, file) as (store,):
        charting = Charting(store)
        yield Imported(
            charting,
            read_in(charting),
            read_in(charting),
            read_units(episodes),
            read_full_sets(observations),
            read_components(episodes),
        )


def test_every_row_is_taken(real: Imported) -> None:
    report = real.report

    assert (report.episodes, report.observations, report.already) == (52, 545, 0)
    assert report.refused == []


def test_a_second_run_adds_nothing(real: Imported) -> None:
    again = real.again

    assert (again.episodes, again.observations, again.already) == (0, 0, 597)
    assert again.refused == []
    assert real.charting.rebuild(NOW).differed == ()


def test_what_is_doubtful_is_said(real: Imported) -> None:
    kinds = Counter(remark.text.split(":")[0] for remark in real.report.doubtful)
    overlapping = _overlapping(real.units)
    texts = [remark.text for remark in real.report.doubtful]

    assert kinds["ward_id"] == kinds["issued_at"] == 52
    assert sum("overlaps" in text for text in texts) == overlapping > 0
    assert sum("several units" in text for text in texts) == 2
    assert sum("planned end" in text for text in texts) >= 40


def test_every_check_of_every_unit_is_judged_as_the_rules_read(real: Imported) -> None:
    found = {unit.episode_id: _verdicts(real.charting, unit.episode_id) for unit in real.units}

    assert found == {unit.episode_id: judge(unit, _sets(real, unit)) for unit in real.units}


def test_no_limit_is_owed_that_counts_from_an_issue(real: Imported) -> None:
    owed = {
        clock.name
        for unit in real.units
        for clock, _ in real.charting.episode(NOW, unit.episode_id).picture.clocks
    }

    assert owed == {*CHECKS, ClockName.LATE_WATCH, ClockName.FATE}


@pytest.mark.parametrize("clock", [None, *sorted(CHECKS)])
def test_as_many_breaches_are_listed_as_the_rules_count(
    real: Imported, clock: ClockName | None
) -> None:
    with real.charting.store.read() as session:
        rows = list_breaches(session, PROGRAM, "w1", now=NOW, wanted=Wanted(clock=clock))

    expected = [
        (unit.episode_id, verdict.clock, verdict.n, verdict.limit_at)
        for unit in real.units
        for verdict in judge(unit, _sets(real, unit))
        if verdict.state in BREACHED and clock in (None, verdict.clock)
    ]
    found = [
        (row.picture.case.request.id, row.breach.clock, row.breach.n, row.breach.limit_at)
        for row in rows
    ]
    assert sorted(found) == sorted(expected)
    assert [limit for *_, limit in found] == sorted(limit for *_, limit in found)


def test_rates_of_months_and_components_are_those_that_the_rules_count(real: Imported) -> None:
    """By the clock of the ward: an hour before UTC's in summer a month begins there."""
    limits = [verdict.limit_at for _, verdict in _judged(real)]
    period = Stretch(min(limits), max(limits) + timedelta(seconds=1))
    for component in (None, "red_cells", "plasma"):
        kind = None if component is None else Component(component)
        asked = Asked(period, By.MONTH, kind)
        with real.charting.store.read() as session:
            found = review_rates(session, PROGRAM, "w1", asked, now=NOW)

        outcomes = Counter(
            (f"{verdict.limit_at.astimezone(LONDON):%Y-%m}", verdict.clock, verdict.state)
            for unit, verdict in _judged(real)
            if component in (None, real.components[unit.episode_id])
        )
        counted = Counter[tuple[str, str, str]]()
        for part in found.parts:
            month = f"{part.period.from_at.astimezone(LONDON):%Y-%m}"
            for clock in CHECKS:
                tally = part.tallies[clock]
                counted[month, clock, "met"] += tally.met
                counted[month, clock, "met_late"] += tally.late
                counted[month, clock, "missed"] += tally.missed
        judged = {key: count for key, count in outcomes.items() if key[2] != "lapsed"}
        assert +counted == judged
        assert len({month for month, *_ in judged}) > (3 if component is None else 0)


def test_breaches_are_cut_to_a_period(real: Imported) -> None:
    limits = sorted(
        verdict.limit_at
        for unit in real.units
        for verdict in judge(unit, _sets(real, unit))
        if verdict.state in BREACHED
    )
    period = Period(limits[10], limits[40])

    with real.charting.store.read() as session:
        rows = list_breaches(session, PROGRAM, "w1", period, now=NOW)

    assert [row.breach.limit_at for row in rows] == [
        limit for limit in limits if limits[10] <= limit < limits[40]
    ]


def test_breaches_known_at_an_instant_are_those_of_the_facts_until_then(real: Imported) -> None:
    """At a past instant the later sets are not there: judged as it stood then."""
    for unit in real.units[::7]:
        instant = unit.end - timedelta(minutes=1)
        with real.charting.store.read() as session:
            rows = list_breaches(session, PROGRAM, "w1", now=NOW, at=instant)
        sets = [at for at in _sets(real, unit) if at <= instant]
        running = unit._replace(end=NOW)
        expected = {
            (verdict.clock, verdict.n)
            for verdict in judge(running, sets)
            if _was_breached(verdict, instant)
        }
        found = {
            (row.breach.clock.value, row.breach.n)
            for row in rows
            if row.picture.case.request.id == unit.episode_id
        }
        assert (unit.episode_id, found) == (unit.episode_id, expected)


def test_the_board_shows_each_unit_from_its_start_until_its_watch_is_over(real: Imported) -> None:
    day = timedelta(hours=24)
    instants = [at for unit in real.units for at in (unit.start, unit.end, unit.end + day)]

    boards = {at: ids_of(real.charting.board(NOW, at=at)) for at in instants}

    assert {at: sorted(ids) for at, ids in boards.items()} == {
        at: sorted(unit.episode_id for unit in real.units if unit.start <= at < unit.end + day)
        for at in instants
    }


def test_what_is_due_at_an_instant_is_owed_by_units_on_the_board(real: Imported) -> None:
    for unit in real.units[::5]:
        instant = unit.start + timedelta(minutes=15)
        with real.charting.store.read() as session:
            items = list_due(session, PROGRAM, "w1", now=NOW, at=instant, within_minutes=0)

        due = {
            (item.picture.case.request.id, item.clock.name)
            for item in items
            if item.falls_due_at == instant
        }
        met = any(unit.start + timedelta(minutes=10) <= at <= instant for at in _sets(real, unit))
        ended = unit.end < unit.start + timedelta(minutes=10)
        assert ((unit.episode_id, ClockName.FIRST_CHECK) in due) == (not met and not ended)


def _judged(real: Imported) -> list[tuple[Unit, Verdict]]:
    return [(unit, verdict) for unit in real.units for verdict in judge(unit, _sets(real, unit))]


def _was_breached(verdict: Verdict, instant: datetime) -> bool:
    if verdict.state in ("met_late", "missed") and verdict.met_at is not None:
        return True
    return verdict.met_at is None and verdict.limit_at < instant


def _verdicts(charting: Charting, episode_id: str) -> list[Verdict]:
    picture: Any = charting.episode(NOW, episode_id).picture
    return [
        Verdict(clock.name.value, clock.n, clock.limit_at, clock.met_at, state.value)
        for clock, state in picture.clocks
        if clock.name in CHECKS
    ]


def _sets(real: Imported, unit: Unit) -> list[datetime]:
    return real.sets.get(unit.patient_id, [])


def _overlapping(units: list[Unit]) -> int:
    return sum(
        any(
            other.patient_id == unit.patient_id
            and (other.start, other.episode_id) < (unit.start, unit.episode_id)
            and unit.start < other.end
            for other in units
        )
        for unit in units
    )
