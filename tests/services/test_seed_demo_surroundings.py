"""Where a demonstration runs: options, file, port, zone, browser, and who acts beside it."""

import socket
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event

import pytest

from seed_demo.acting import Pace, acting
from seed_demo.banner import Place, banner
from seed_demo.options import Options, read_options
from seed_demo.surroundings import (
    database_for,
    free_port,
    has_display,
    open_browser_at,
    timezone_of,
)
from server.store.errors import Away
from tests.services.demo_ward import START

HOST = "127.0.0.1"


def test_without_options_it_is_real_time_on_the_usual_port_and_a_passing_file() -> None:
    assert read_options([]) == Options(
        host=HOST,
        port=8321,
        speed=1.0,
        seed=1,
        database=None,
        keep=False,
        browser=True,
        timezone=None,
    )


@pytest.mark.parametrize(
    "given",
    [
        ["--speed", "0.5"],
        ["--speed", "241"],
        ["--speed", "fast"],
        ["--speed", "nan"],
        ["--port", "-1"],
        ["--port", "65536"],
        ["--seed", "x"],
        ["--weeks", "14"],
        ["--no-serve"],
        ["--nonsense"],
    ],
)
def test_a_wrong_option_is_refused(given: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        read_options(given)

    assert ended.value.code == 2
    assert capsys.readouterr().err.startswith("usage: fourth-hour demo")


@pytest.mark.parametrize(
    ("speed", "step_seconds", "hands_off_minutes"),
    [("1", 5, 10), ("60", 1, 20), ("240", 0.25, 80)],
)
def test_a_faster_ward_is_looked_at_more_often(
    speed: str, step_seconds: float, hands_off_minutes: int
) -> None:
    options = read_options(["--speed", speed])

    assert options.step_seconds == step_seconds
    assert options.hands_off == timedelta(minutes=hands_off_minutes)


def test_a_port_that_is_taken_gives_the_next_free_one() -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]

        assert free_port(HOST, port) > port
    assert free_port(HOST, port) == port
    assert free_port(HOST, 0) > 0


def test_a_host_that_is_not_here_is_said() -> None:
    with pytest.raises(OSError, match=r"no port from 65535 on can be listened on at 192\.0\.2\.1"):
        free_port("192.0.2.1", 65_535)


def test_a_file_of_its_own_is_removed_unless_it_is_kept() -> None:
    with database_for(None, keep=False) as passing, database_for(None, keep=True) as kept:
        files = [Path(address.removeprefix("sqlite:///")) for address in (passing, kept)]
        for file in files:
            file.touch()

    left = [file.exists() for file in files]
    files[1].unlink()
    files[1].parent.rmdir()
    assert left == [False, True]


@pytest.mark.parametrize(
    ("named", "address"),
    [("ward.db", "sqlite:///ward.db"), ("postgresql://h/d", "postgresql://h/d")],
)
def test_a_database_may_be_named(named: str, address: str) -> None:
    with database_for(named, keep=False) as given:
        assert given == address


@pytest.mark.parametrize(
    ("variable", "linked", "zone"),
    [
        ("Pacific/Auckland", "", "Pacific/Auckland"),
        (":Europe/Oslo", "", "Europe/Oslo"),
        ("Nowhere/Town", "zoneinfo/America/Halifax", "America/Halifax"),
        ("", "zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
        ("", "zoneinfo/Nowhere", "Europe/London"),
        ("", "", "Europe/London"),
    ],
)
def test_the_wards_zone_is_the_machines(
    tmp_path: Path, variable: str, linked: str, zone: str
) -> None:
    localtime = tmp_path / "localtime"
    localtime.symlink_to(tmp_path / (linked or "elsewhere"))

    assert timezone_of({"TZ": variable}, localtime) == zone


@pytest.mark.parametrize(
    ("environment", "platform", "shown"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({}, "darwin", True),
        ({}, "win32", True),
    ],
)
def test_a_browser_needs_a_display(
    environment: dict[str, str], platform: str, *, shown: bool
) -> None:
    assert has_display(environment, platform) is shown


def test_the_browser_opens_once_the_board_answers() -> None:
    shown: list[str] = []
    with socket.socket() as board:
        board.bind((HOST, 0))
        port = board.getsockname()[1]
        waiting = open_browser_at("http://there/", HOST, port, shown.append)
        waiting.join(timeout=0.5)
        before = list(shown)

        board.listen()
        waiting.join(timeout=60)

    assert (before, shown) == ([], ["http://there/"])


def test_the_banner_says_where_who_and_how_to_stop() -> None:
    place = Place(
        address="http://127.0.0.1:8321",
        wall_secret="secret",
        database="sqlite:////tmp/a.db",
        kept=False,
        speed=60,
        proposal="p2",
    )

    lines = [line.strip() for line in banner(place).splitlines() if line.strip()]

    assert lines == [
        "Lantern Ward, Ebbstone",
        "Everything here is invented. Fourth Hour supports, and does not replace, local policy,",
        "the laboratory's issue decision and professional judgement; it is not a medical device.",
        "Open      http://127.0.0.1:8321/",
        "Wall      http://127.0.0.1:8321/wall/secret",
        "(no sign-in, beds and initials only)",
        "Plan      http://127.0.0.1:8321/wards/lantern/plan",
        "http://127.0.0.1:8321/wards/lantern/plan?version=p2",
        "(another is proposed for while a patient is away for a scan)",
        "Sign in   as charge nurse   charge",
        "as bedside nurse  bo, agnes, ines, priya, mateus",
        "as manager        manager",
        "as administrator  admin",
        "Password  lantern-ward  (for all of them, in this database only)",
        "Badge     LW-101 charge, LW-102 bo, LW-103 agnes, LW-104 ines",
        "LW-105 priya, LW-106 mateus, LW-107 manager, LW-108 admin",
        "PIN       480251  (for all of them)",
        "Time      60 times as fast as it passes",
        "Database  sqlite:////tmp/a.db",
        "(removed at the end; --keep keeps it)",
        "Stop      Ctrl+C",
    ]


class Stumbling:
    """Somebody who finds the database away, then fails, then acts."""

    def __init__(self) -> None:
        self.steps: list[datetime] = []
        self.acted = Event()

    def step(self, now: datetime, /) -> None:
        """The first two steps fail."""
        self.steps.append(now)
        if len(self.steps) == 1:
            raise Away("the database is away")
        if len(self.steps) == 2:
            raise RuntimeError("stumbled")
        self.acted.set()


def test_a_step_that_fails_is_not_the_last(caplog: pytest.LogCaptureFixture) -> None:
    actors = Stumbling()

    with acting(actors, lambda: START, Pace(0, 0.01)):
        acted = actors.acted.wait(10)

    assert acted
    assert [record.getMessage() for record in caplog.records] == [
        "the simulated nurses wait: the database is away",
        "a step of the simulated nurses failed",
    ]


def test_nobody_acts_before_a_first_look() -> None:
    actors = Stumbling()

    with acting(actors, lambda: START, Pace(60, 0.01)):
        pass

    assert actors.steps == []
