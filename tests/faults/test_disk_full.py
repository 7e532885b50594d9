"""The disk under an SQLite file is full: what was acknowledged stays, boards can be read.

Everything else is refused until there is space again. The disk is a small one in memory, which
one has to be root to mount. The figures that were measured are printed.
"""

import sqlite3
import subprocess
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from os import statvfs
from pathlib import Path
from time import monotonic, sleep
from typing import Final

import pytest

from server.clock import utc_now
from tests.faults.asking import (
    Answered,
    following,
    get,
    look_at_board,
    post_note,
    say,
    signed_in,
    until_normal,
    wait_for,
)
from tests.faults.programs import Running, Served, ending
from tests.faults.small_ward import WARD, SmallWard, make_small_ward
from tests.faults.whole import require_whole

DISK_BYTES: Final = 12_000_000
FULL_SECONDS: Final = 4.0
LEFT_BYTES: Final = 200_000
MOST_FACTS: Final = 400


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A small disk; a loud skip where none can be mounted."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES}", "tmpfs", str(place)],  # noqa: S607
        check=False,
        capture_output=True,
        text=True,
    )
    if mounted.returncode != 0:
        pytest.skip(f"FULL DISK NOT TESTED: no small disk can be mounted here: {mounted.stderr}")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", str(place)], check=True)  # noqa: S607


def test_what_was_acknowledged_stays_and_everything_is_normal_once_there_is_space(
    disk: Path, tmp_path: Path
) -> None:
    ward = make_small_ward(disk / "ward.db", utc_now())
    secret = signed_in(ward)
    with ending(Served(ward.database, tmp_path / "log", key_file=f"{tmp_path / 'key'}")) as served:
        served.wait_until_ready()
        until_normal(served, ward)
        filler = _fill(disk)
        answers = _post_until_refused(served, ward)
        with following(served, ward) as stream:
            since = monotonic()
            _read_while_full(served, ward, secret)
            silence = stream.longest_silence(since, monotonic())
        filler.unlink()
        seconds = until_normal(served, ward)
        refused = [key for key, answer in answers.items() if answer.status != 201]
        repeated = [post_note(served, ward, key) for key in refused]
        look_at_board(served, secret)
        wait_for(lambda: "views_late" in _audited(ward))

    say(
        f"disk full for {FULL_SECONDS:.0f} s: {len(answers) - len(refused)} facts fitted, then "
        f"{answers[refused[0]].status} in {answers[refused[0]].seconds:.2f} s; the stream was "
        f"silent for at most {silence:.1f} s; normal {seconds:.2f} s after there was space"
    )
    assert {answers[key].problem for key in refused} == {"database-away"}
    assert [one.status for one in repeated] == [201] * len(refused)
    assert _notes(ward) == Counter(f"note {key}" for key in answers)
    require_whole(ward.database)


def _fill(disk: Path) -> Path:
    """Write a file that leaves room for a few facts."""
    filler, free = disk / "filler", statvfs(disk)
    filler.write_bytes(bytes(free.f_bavail * free.f_bsize - LEFT_BYTES))
    return filler


def _post_until_refused(served: Running, ward: SmallWard) -> dict[str, Answered]:
    """Record facts until some are refused in a row; what fits into what is there still goes."""
    answers: dict[str, Answered] = {}
    while [one.status for one in list(answers.values())[-3:]] != [503] * 3:
        assert len(answers) < MOST_FACTS, "the disk does not fill"
        key = f"fact-{len(answers)}"
        answers[key] = post_note(served, ward, key)
    return answers


def _read_while_full(served: Running, ward: SmallWard, secret: str) -> None:
    for _ in range(int(FULL_SECONDS)):
        page, board = look_at_board(served, secret), get(served, f"/api/board?ward_id={WARD}", ward)
        assert (page.status, board.status) == (200, 200)
        sleep(1)


def _audited(ward: SmallWard) -> set[str]:
    with closing(sqlite3.connect(ward.database)) as connection:
        return {str(act) for (act,) in connection.execute("SELECT act FROM audit")}


def _notes(ward: SmallWard) -> Counter[str]:
    found = "SELECT json_extract(payload, '$.text') FROM event WHERE kind = 'note'"
    with closing(sqlite3.connect(ward.database)) as connection:
        return Counter(str(one) for (one,) in connection.execute(found))
