"""The command line says whether single sign-on could be used, and starts none by halves."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from tests.api.commands import Run, run
from tests.ports import free_port

__all__ = ["run"]

WITHOUT_LIBRARY: Final = (
    "import sys; sys.modules['authlib'] = None; "
    "from server.cli import main; sys.exit(main(sys.argv[1:]))"
)


@pytest.fixture
def nowhere(monkeypatch: pytest.MonkeyPatch) -> str:
    """Settings of a provider that is not there; its address."""
    issuer = f"http://127.0.0.1:{free_port()}"
    for name, text in {
        "PUBLIC_ADDRESS": "https://board.example",
        "SSO_ISSUER": issuer,
        "SSO_CLIENT_ID": "board",
        "SSO_CLIENT_SECRET": "hush",
    }.items():
        monkeypatch.setenv(f"FOURTH_HOUR_{name}", text)
    return issuer


def test_a_provider_that_is_away_is_named(run: Run, nowhere: str) -> None:
    run("migrate")

    result, printed, _ = run("check")

    line = f"BROKEN  Single sign-on: {nowhere} cannot be used: no connection"
    assert (result, line in printed.splitlines()) == (1, True)


def test_without_its_extra_single_sign_on_does_not_start(tmp_path: Path, nowhere: str) -> None:
    """The library is kept from a process of its own as if it had never been installed."""
    assert nowhere.startswith("http://")

    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_LIBRARY, "serve"],
        env=os.environ | {"FOURTH_HOUR_DATABASE": f"sqlite:///{tmp_path / 'board.db'}"},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    why = "single sign-on needs the extra sso: pip install 'fourth-hour[sso]' (authlib)"
    said = f"fourth-hour serve: FOURTH_HOUR_SSO_ISSUER: {why}\n"
    assert (done.returncode, done.stderr) == (1, said)
