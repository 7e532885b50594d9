"""Real transfusions: every breach is explained or said not to be, and every answer is proven.

Contains information from the MIMIC-III Clinical Database Demo v1.4, which is made available under
the ODbL. The files are read where they lie; nothing of them is kept here.
"""

from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest

from server.domain.picture import Case, picture
from server.domain.why.attempt import Way
from server.domain.why.earlier import Avoided
from server.domain.why.explain import Why, ask, explain
from server.exchange.history_files import read_episodes, read_observations
from server.services.cases import load_cases
from server.services.explain_breach import explain_breach
from server.services.import_history import import_history
from server.store.board import begun_episode_ids
from tests.domain.moved_acts import a_second_late, is_breached, moved_by
from tests.services.charting import Charting
from tests.services.people import PROGRAM
from tests.services.random_files import fresh_stores

NOW = datetime(2026, 3, 3, tzinfo=UTC)


@pytest.fixture(scope="module")
def real_cases(
    shared_folder: Path, sqlite_wards: Path, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Case]:
    """The units of the real history, by id; one question is put to the database itself."""
    episodes = shared_folder / "realdata" / "episodes.csv"
    observations = shared_folder / "realdata" / "observations.csv"
    if not episodes.is_file():
        pytest.skip("REAL HISTORY MISSING: ../shared/realdata is not beside the project")
    file = tmp_path_factory.mktemp("real") / "wards.db"
    with fresh_stores(sqlite_wards, file) as (store,):
        with episodes.open(newline="") as units, observations.open(newline="") as sets:
            read = read_episodes(units), read_observations(sets)
            import_history(Charting(store).store, PROGRAM, "w1", *read, now=NOW)
        with store.read() as session:
            ids = begun_episode_ids(session, "w1", NOW)
            cases = load_cases(session, ids, now=NOW)
            first = next(case for case in cases.values() if picture(case, NOW).breaches)
            breach = picture(first, NOW).breaches[0]
            key = (breach.clock, breach.n)
            asked = explain_breach(session, PROGRAM, first.request.id, *key, now=NOW)
            assert asked.avoided == _why(first, key).avoided
    return cases


def _why(case: Case, key: tuple[object, ...]) -> Why:
    asked = ask(case, key, NOW)  # type: ignore[arg-type]
    assert asked is not None
    return explain(asked)


def test_every_breach_has_a_proven_answer(real_cases: dict[str, Case]) -> None:
    """All 117 of the 52 units; of 27 nothing in the record says why, and that is said."""
    counts: Counter[str] = Counter()
    for case in real_cases.values():
        for breach in picture(case, NOW).breaches:
            key = (breach.clock, breach.n)
            why = _why(case, key)
            for avoided in why.avoided:
                _prove(case, key, avoided)
                counts["acts"] += 1
            counts["breaches"] += 1
            counts["answered"] += bool(why.avoided)
            counts["says why"] += why.says_why

    assert dict(counts) == {"breaches": 117, "answered": 117, "acts": 229, "says why": 90}


def _prove(case: Case, key: tuple[object, ...], avoided: Avoided) -> None:
    """Kept at the minute or second, broken just before it, by facts that are moved apart."""
    kept = moved_by(case, avoided, avoided.minutes or 1)
    assert not is_breached(kept, key, NOW), (case.request.id, avoided)  # type: ignore[arg-type]
    most = avoided.minutes or 1
    for steps in {0, most // 2, most - 1}:
        moved = moved_by(case, avoided, steps)
        assert is_breached(moved, key, NOW), (case.request.id, avoided)  # type: ignore[arg-type]
    if avoided.way is Way.BY:
        late = a_second_late(case, avoided)
        assert is_breached(late, key, NOW), (case.request.id, avoided)  # type: ignore[arg-type]
