"""The board's key: made once, read ever after, refused where it is none."""

import subprocess
import sys
from pathlib import Path

import pytest

from server.key_file import BYTES, key_path, read_key
from server.settings import Settings, SettingsError

NOT_THERE = "No such file or directory"


@pytest.mark.parametrize(
    ("database", "expected"),
    [
        ("sqlite:///fourth-hour.db", "fourth-hour.key"),
        ("sqlite:////data/ward.db", "/data/ward.key"),
        ("sqlite://", "fourth-hour.key"),
        ("sqlite:///:memory:", "fourth-hour.key"),
        ("postgresql+psycopg://ward@db/ward", "fourth-hour.key"),
    ],
)
def test_the_key_is_beside_a_file_or_where_the_board_works(database: str, expected: str) -> None:
    assert key_path(Settings(database=database)) == Path(expected)
    assert key_path(Settings(database=database, key_file=Path("/keys/k"))) == Path("/keys/k")


def test_a_key_is_made_once_and_for_its_owner_alone(tmp_path: Path) -> None:
    settings = Settings(database=f"sqlite:///{tmp_path}/ward.db")

    made = read_key(settings)

    file = tmp_path / "ward.key"
    assert (len(made), file.read_bytes(), read_key(settings)) == (BYTES, made, made)
    assert (file.stat().st_mode & 0o777, [one.name for one in tmp_path.iterdir()]) == (
        0o600,
        ["ward.key"],
    )


def test_two_processes_that_start_at_once_have_one_key(tmp_path: Path) -> None:
    program = (
        "import sys; from server.settings import Settings; from server.key_file import read_key\n"
        "print(read_key(Settings(database=sys.argv[1])).hex())"
    )
    command = [sys.executable, "-c", program, f"sqlite:///{tmp_path}/ward.db"]
    started = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(2)]

    said = {process.communicate(timeout=60)[0] for process in started}

    assert said == {(tmp_path / "ward.key").read_bytes().hex() + "\n"}


def test_a_file_that_is_no_key_is_refused_by_the_name_of_the_variable(tmp_path: Path) -> None:
    short, folder = tmp_path / "short", tmp_path / "folder"
    short.write_bytes(b"x" * 31)
    folder.mkdir()
    wrong = {
        short: f"FOURTH_HOUR_KEY_FILE: {short} holds 31 bytes; expected at least 32",
        folder: f"FOURTH_HOUR_KEY_FILE: {folder}: Is a directory",
        tmp_path / "no" / "key": f"FOURTH_HOUR_KEY_FILE: {tmp_path}/no/key: {NOT_THERE}",
    }

    said = {}
    for file in wrong:
        with pytest.raises(SettingsError) as refused:
            read_key(Settings(key_file=file))
        said[file] = str(refused.value)

    assert said == wrong
