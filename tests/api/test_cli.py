"""The command line: tokens, history in and out, rebuild, checks, a server that stops at once."""

import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import monotonic, sleep
from typing import Final, TypeVar

import httpx2
import pytest
from sqlalchemy import update

from server.store.migrate import is_current
from server.store.store import Store
from server.store.tables import EPISODE_STATE
from tests.api.commands import Run, run, store

Found = TypeVar("Found")
EPISODES = (
    (
        "episode_id,patient_id,birth_date,component,volume_ml,removed_at,issued_at,started_at,"
        "rate_ml_h,ended_at,given_ml,bed"
    ),
    (
        "u1,p1,1950-01-31,red_cells,280,2024-05-05T05:00:00Z,2024-05-05T05:02:00Z,"
        '2024-05-05T05:10:00Z,120,2024-05-05T07:30:00Z,280,"3, window"'
    ),
    "u2,p1,1950-01-31,platelets,250,,,2024-05-05T08:00:00Z,500,2024-05-05T08:30:00Z,200,'=2+2",
)
REFUSED = "u3,p1,,red_cells,-5,,,2024-05-05T08:00:00Z,1,,,1"
SIGNS = (
    "patient_id,happened_at,temperature_c,pulse_per_min,respirations_per_min,systolic_mmhg",
    "p1,2024-05-05T05:05:00Z,36.8,78,16,124",
    "p1,2024-05-05T05:25:00Z,36.9,80,16,125",
)

__all__ = ["run", "store"]


@pytest.fixture
def history(tmp_path: Path) -> tuple[str, str]:
    """The two history files."""
    files = tmp_path / "in.csv", tmp_path / "signs.csv"
    for file, lines in zip(files, (EPISODES, SIGNS), strict=True):
        file.write_text("\n".join(lines), "utf-8")
    return str(files[0]), str(files[1])


def test_migrating_twice_changes_nothing(run: Run, tmp_path: Path) -> None:
    first, second = run("migrate"), run("migrate")
    store = Store(f"sqlite:///{tmp_path / 'board.db'}")
    current = is_current(store)
    store.close()

    assert first == (0, "brought to the newest schema\n", "")
    assert second == (0, "was up to date\n", "")
    assert current


@pytest.mark.parametrize(
    "given",
    [
        (),
        ("no-such-command",),
        ("token", "--name", "A", "--role", "surgeon"),
        ("token", "--role", "manager"),
        ("serve", "--port", "65536"),
        ("import", "episodes.csv"),
    ],
)
def test_a_wrong_call_is_explained(
    run: Run, capsys: pytest.CaptureFixture[str], given: tuple[str, ...]
) -> None:
    with pytest.raises(SystemExit) as left:
        run(*given)

    assert (left.value.code, "usage: fourth-hour" in capsys.readouterr().err) == (2, True)


def test_a_wrong_setting_is_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FOURTH_HOUR_PORT", "eighty")

    result, printed, said = run("migrate")

    assert (result, printed) == (1, "")
    assert said.startswith("fourth-hour migrate: FOURTH_HOUR_PORT: expected a whole number")


@pytest.mark.usefixtures("store")
def test_history_is_read_and_written_back(
    run: Run, history: tuple[str, str], tmp_path: Path
) -> None:
    read = run("import", "--ward", "w1", *history)
    out, signs = tmp_path / "out.csv", tmp_path / "out-signs.csv"
    written = run("export", "--ward", "w1", str(out), str(signs))

    first = "2 episodes and 2 observations were stored, 0 lines were there already, 0 were refused"
    assert (read[0], read[1].splitlines()[0]) == (0, first)
    assert written[:2] == (0, "2 episodes and 2 observations were written\n")
    lines = out.read_text("utf-8").splitlines()
    assert lines[1].startswith(
        'u1,p1,1950-01-31,,w1,"3, window",red_cells,280,'
        "2024-05-05T05:00:00Z,2024-05-05T05:02:00Z,2024-05-05T05:10:00Z,120,"
        "2024-05-05T07:30:00Z,280,completed,"
    )
    assert '"\'=2+2"' in lines[2]
    assert (
        signs.read_text("utf-8")
        .splitlines()[1]
        .startswith("p1,2024-05-05T05:05:00Z,36.8,78,16,124,,,")
    )


@pytest.mark.usefixtures("store")
def test_history_that_was_written_can_be_read_again(
    run: Run, history: tuple[str, str], tmp_path: Path
) -> None:
    run("import", "--ward", "w1", *history)
    files = str(tmp_path / "out.csv"), str(tmp_path / "out-signs.csv")
    run("export", "--ward", "w1", *files)

    again = run("import", "--ward", "w1", *files)

    first = "0 episodes and 0 observations were stored, 4 lines were there already, 0 were refused"
    assert (again[0], again[1].splitlines()[0]) == (0, first)


@pytest.mark.usefixtures("store")
def test_a_refused_line_is_said_with_its_reason(run: Run, history: tuple[str, str]) -> None:
    file = Path(history[0])
    file.write_text("\n".join([*EPISODES, REFUSED]), "utf-8")

    result, printed, _ = run("import", "--ward", "w1", history[0])

    (refused,) = [line for line in printed.splitlines() if line.startswith("refused")]
    assert (result, refused.split(": ", 1)[0]) == (1, "refused   episodes line 4")
    assert "volume_ml" in refused


@pytest.mark.usefixtures("store")
def test_nothing_is_written_of_a_ward_that_does_not_exist(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"

    result, _, said = run("export", "--ward", "w9", str(out), str(out))

    assert (result, said) == (1, "fourth-hour export: the ward was not found\n")
    assert not out.exists()


@pytest.mark.usefixtures("store")
def test_a_file_that_is_not_there_is_named(run: Run) -> None:
    result, _, said = run("import", "--ward", "w1", "none.csv")

    assert (result, "none.csv" in said) == (1, True)


def test_a_rebuild_says_how_many_rows_differed(
    run: Run, store: Store, history: tuple[str, str]
) -> None:
    run("import", "--ward", "w1", *history)
    sound = run("rebuild")
    with store.write() as session:
        one = update(EPISODE_STATE).where(EPISODE_STATE.c.episode_id == "u1")
        session.run(one.values(bed="9"))
    mended, after = run("rebuild"), run("rebuild")

    assert sound == (0, "2 episodes were worked out, 0 differed\n", "")
    assert mended == (0, "2 episodes were worked out, 1 differed\ndiffered  u1\n", "")
    assert after == sound


def test_a_server_migrates_ticks_tells_and_stops_at_once(tmp_path: Path) -> None:
    settings = {
        "FOURTH_HOUR_DATABASE": f"sqlite:///{tmp_path / 'board.db'}",
        "FOURTH_HOUR_LOG": "json",
    }
    command = [sys.executable, "-m", "server.cli", "serve", "--host", "127.0.0.1", "--port", "0"]
    log = tmp_path / "log"
    with log.open("w") as said:
        process = subprocess.Popen(command, env=os.environ | settings, stderr=said)
        try:
            address = _wait_for(lambda: re.search(r"http://\S+:\d+", log.read_text("utf-8")))
            ready = f"{address.group()}/readyz"
            _wait_for(lambda: httpx2.get(ready).status_code == 200)
            numbers = [_number_for(f"{address.group()}{path}", **sent) for path, sent in ASKED]
            begun = monotonic()
            process.send_signal(signal.SIGTERM)
            process.wait(30)
            seconds = monotonic() - begun
        finally:
            process.kill()

    assert process.returncode in (0, -signal.SIGTERM)
    assert seconds < 30
    assert "Traceback" not in log.read_text("utf-8")
    lines = [json.loads(line) for line in log.read_text("utf-8").splitlines()]
    answered = [one for one in lines if one["event"] == "answered" and one["status"] == 404]
    assert [(one["request"], one["route"]) for one in answered] == [
        (number, "other") for number in numbers
    ]
    assert numbers[0] == "from-a-proxy-1"
    assert [one for one in numbers[1:] if not re.fullmatch(r"[0-9A-Z]{5}-[0-9A-Z]{5}", one)] == []
    assert {"uvicorn.error", "server.store.lead"} <= {one["logger"] for one in lines}
    assert [one for one in answered if "forged" in f"{one}" or one["client"] != "127.0.0.1"] == []


# A number that a proxy gave, and what makes no line of the log and no number.
ASKED: Final = (
    ("/none", {"X-Request-ID": "from-a-proxy-1"}),
    ("/none", {"X-Request-ID": "short"}),
    ("/none", {"X-Request-ID": 'forged", "level": "error'}),
    ("/%0d%0aERROR%20forged", {"User-Agent": "x\tERROR forged"}),
    ("/none", {"X-Forwarded-For": "127.0.0.1", "X-Request-ID": "x" * 65}),
)


def _number_for(address: str, **headers: str) -> str:
    return str(httpx2.get(address, headers=headers).headers["x-request-id"])


def _wait_for(find: Callable[[], Found | None]) -> Found:
    until = monotonic() + 120
    while monotonic() < until:
        found = find()
        if found:
            return found
        sleep(0.05)
    raise TimeoutError
