"""`fourth-hour account`: the first person gets in before any page can help."""

import subprocess
import sys
from pathlib import Path

import pytest

from server.domain.words import Role
from server.services.sign_in import check_password
from server.store.staff import Staff
from server.store.store import Store
from tests.conftest import PROJECT


def account(folder: Path, *options: str, password: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "server.cli", "account", *options]
    return subprocess.run(
        command,
        cwd=PROJECT,
        env={"FOURTH_HOUR_DATABASE": f"sqlite:///{folder / 'ward.db'}"},
        input=f"{password}\n",
        capture_output=True,
        text=True,
        check=False,
    )


IDA = ("--name", "Ida Marsh", "--sign-in-name", "ida", "--role", "administrator")


def test_an_account_can_sign_in_with_the_password_that_was_typed(tmp_path: Path) -> None:
    made = account(tmp_path, *IDA, password="a long password")
    store = Store(f"sqlite:///{tmp_path / 'ward.db'}")
    with store.read() as session:
        staff = check_password(session, "ida", "a long password")
        wrong = check_password(session, "ida", "another password")
    store.close()

    assert (made.returncode, made.stderr) == (0, "")
    assert staff == Staff(made.stdout.strip(), "Ida Marsh", Role.ADMINISTRATOR, None, "ida")
    assert wrong is None


@pytest.mark.parametrize(
    ("options", "password", "said"),
    [
        (IDA, "short", "password: is too short; expected at least 10 characters"),
        ((*IDA, "--ward", "none"), "a long password", "wards: there is no ward none"),
    ],
)
def test_a_refused_account_says_why_and_makes_nothing(
    tmp_path: Path, options: tuple[str, ...], password: str, said: str
) -> None:
    refused = account(tmp_path, *options, password=password)

    assert (refused.returncode, refused.stdout) == (1, "")
    assert refused.stderr == f"fourth-hour account: {said}\n"
