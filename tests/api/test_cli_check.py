"""`fourth-hour check`: names what is wrong, and says by its exit code whether anything is."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text

from server import __version__
from server.clock import utc_now
from server.domain.invariants import Invariant, Process
from server.services.sheet_folder import put_in_place
from server.store.processes import keep_process
from server.store.store import Store
from tests.api.commands import Run, run, store

__all__ = ["run", "store"]

Set = Callable[[str, str], None]


@pytest.fixture
def setting(monkeypatch: pytest.MonkeyPatch) -> Set:
    """Set a variable of the environment."""
    return lambda name, value: monkeypatch.setenv(f"FOURTH_HOUR_{name}", value)


def _broken(printed: str) -> list[str]:
    return [line for line in printed.splitlines() if line.startswith("BROKEN")]


def _write(store: Store, *statements: str) -> None:
    with store.write() as session:
        for statement in statements:
            session.run(text(statement))


@pytest.mark.usefixtures("store")
def test_on_a_sound_database_each_thing_is_named_and_nothing_is_broken(
    run: Run, tmp_path: Path
) -> None:
    result, printed, said = run("check")

    lines = printed.splitlines()
    assert (result, said, lines[-1]) == (0, "", "0 of 25 broken")
    assert lines[:7] == [
        "holds   Settings: every variable can be read",
        "holds   Policies: common, uk, nz, au, ca",
        "holds   Site files: No clinician has signed the compatibility table of this site.",
        "holds   Database: SQLite answers, and has the newest schema",
        f"holds   Folder: {tmp_path} can be written",
        "holds   Audit trail: the chain is whole since the beginning, 2 rows checked",
        "idle    Clocks are checked: no tick has ever succeeded on this database; nobody serves it",
    ]
    assert "holds   Each unit’s row is what its facts say: none of 0 differs" in lines


def test_what_is_wrong_is_named_with_what_was_expected_and_is_to_be_done(
    run: Run, store: Store, tmp_path: Path
) -> None:
    with store.write() as session:
        told = Process("1", "ward:1", "0.0.9", utc_now(), utc_now(), free={"/data": 1})
        keep_process(session, told)
    (tmp_path / "board.key").write_bytes(b"x" * 32)

    result, printed, _ = run("check")

    lines = printed.splitlines()
    version = f"0.0.9 on ward:1; {__version__} on "
    broken = _broken(printed)
    assert result == 1
    assert [one.removeprefix("BROKEN  ").partition(": ")[0] for one in broken] == [
        "Clocks are checked",
        "All processes are of one version",
        "All processes have the board’s key",
        "There is room on the disks",
    ]
    assert version in broken[1]
    assert broken[3] == "BROKEN  There is room on the disks: only 0 MB in /data of ward:1"
    place = lines.index(broken[3])
    assert lines[place + 1].startswith("        expected: At least 1 GB is free")
    assert lines[place + 2].startswith("        to do: Make room")
    assert lines[-1].startswith("4 of 25 broken: Clocks are checked, All processes are of one ver")


@pytest.mark.usefixtures("store")
def test_for_programs_it_is_one_object(run: Run) -> None:
    result, printed, said = run("check", "--json", "--quick")

    told = json.loads(printed)
    checks = {one["key"]: one for one in told["checks"]}
    assert (result, told["exit_code"], said) == (0, 0, "")
    assert {one.value for one in Invariant} - {"audit_whole"} <= set(checks)
    assert checks["policies"] == {
        "key": "policies",
        "name": "Policies",
        "standing": "holds",
        "found": "common, uk, nz, au, ca",
        "expected": "",
        "do": "",
        "count": 0,
        "subjects": [],
    }
    words = "each of 0 on boards is looked at within an hour, each of 0 within a day"
    assert checks["rows_as_facts"]["found"] == f"none differs; {words}"


def test_every_unit_is_looked_at_and_those_that_differ_are_named(
    run: Run, store: Store, tmp_path: Path
) -> None:
    """All of them, and not only those whose turn it is: 60 units, of which the last differs."""
    rows = "\n".join(
        f"u{n:02},p{n},red_cells,2024-05-05T08:00:00Z,500,2024-05-05T08:30:00Z,200"
        for n in range(60)
    )
    head = "episode_id,patient_id,component,started_at,rate_ml_h,ended_at,given_ml"
    (tmp_path / "in.csv").write_text(f"{head}\n{rows}\n", "utf-8")
    (tmp_path / "signs.csv").write_text("patient_id,happened_at\n", "utf-8")
    stored = run("import", "--ward", "w1", f"{tmp_path / 'in.csv'}", f"{tmp_path / 'signs.csv'}")
    _write(store, "UPDATE episode_state SET bed = '99' WHERE episode_id = 'u59'")

    whole, quick = run("check"), run("check", "--quick")

    assert stored[1].startswith("60 episodes")
    assert _broken(whole[1]) == [
        "BROKEN  Each unit’s row is what its facts say: 1 unit’s row differs: u59"
    ]
    assert (whole[0], quick[0], _broken(quick[1])) == (1, 0, [])


def test_a_database_of_another_schema_or_none_is_not_looked_at(run: Run, setting: Set) -> None:
    older = run("check")
    setting("DATABASE", "postgresql+psycopg://nobody@127.0.0.1:9/none")
    away = run("check")

    assert [(one[0], len(one[1].splitlines())) for one in (older, away)] == [(3, 6), (3, 6)]
    assert "        to do: Run `fourth-hour migrate` of the newest version." in older[1]
    assert "BROKEN  Database: PostgreSQL does not answer" in away[1]
    assert away[1].endswith("1 of 4 broken: Database\n")


@pytest.mark.usefixtures("store")
def test_a_wrong_setting_is_named_and_nothing_else_known(run: Run, setting: Set) -> None:
    setting("PORT", "eighty")

    result, printed, said = run("check")

    assert (result, printed) == (3, "")
    assert said.startswith("fourth-hour check: FOURTH_HOUR_PORT: expected a whole number")


@pytest.mark.usefixtures("store")
def test_a_wrong_policy_is_named_by_its_line_and_all_else_looked_at(
    run: Run, tmp_path: Path, setting: Set
) -> None:
    (tmp_path / "ours.toml").write_text("title = 1\n", "utf-8")
    setting("POLICIES", str(tmp_path))

    result, printed, _ = run("check")

    (wrong,) = _broken(printed)
    assert (result, wrong.startswith("BROKEN  Policies: "), "ours.toml, line 1" in wrong) == (
        1,
        True,
        True,
    )
    assert printed.endswith("1 of 25 broken: Policies\n")


@pytest.mark.usefixtures("store")
def test_paper_sheets_that_are_not_written_are_named(
    run: Run, tmp_path: Path, setting: Set
) -> None:
    setting("SHEETS", str(tmp_path))

    before = run("check")
    put_in_place(tmp_path / "ward-w1.html", "a sheet")
    after = run("check")

    missing = f"BROKEN  Paper sheets: none was written yet of w1 in {tmp_path}"
    assert (before[0], _broken(before[1])) == (1, [missing])
    assert after[0] == 0
    assert f"holds   Paper sheets: written 0 min ago in {tmp_path}" in after[1]


@pytest.mark.usefixtures("store")
def test_a_folder_that_cannot_be_written_is_named(run: Run, setting: Set) -> None:
    """Not even by whoever may do everything: there is no writing to `/proc`."""
    setting("SHEETS", "/proc")

    result, printed, _ = run("check")

    assert result == 1
    assert any(
        one.startswith("BROKEN  Folder: /proc cannot be written: ") for one in _broken(printed)
    )
