"""README, change log, licence and CI say what is so."""

import re
import subprocess
import tomllib

import pytest

from server import __version__
from server.settings import PREFIX, READERS
from tests.conftest import PROJECT

README = (PROJECT / "README.md").read_text("utf-8")
DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text("utf-8")
CHANGELOG = (PROJECT / "CHANGELOG.md").read_text("utf-8")
CI = (PROJECT / ".ci" / "run").read_text("utf-8")
COMMANDS = {
    "demo": (
        "python3 -m venv .venv && .venv/bin/pip install -q '.[plan]' && .venv/bin/fourth-hour demo"
    ),
    "tests": "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' && .venv/bin/pytest",
}


@pytest.mark.parametrize("tag", sorted(COMMANDS))
def test_the_readme_states_each_command_once_on_one_line(tag: str) -> None:
    blocks = re.findall(rf"^```sh {tag}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)

    assert blocks == [COMMANDS[tag] + "\n"]


@pytest.mark.parametrize("tag", sorted(COMMANDS))
def test_ci_copies_each_command_from_the_readme(tag: str) -> None:
    copied = subprocess.run(
        ["bash", ".ci/readme-command", tag],  # noqa: S607  # bash is found where CI finds it
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=True,
    )

    assert (copied.stdout, f".ci/readme-command {tag}" in CI) == (COMMANDS[tag] + "\n", True)


def test_the_way_to_several_processes_takes_five_commands() -> None:
    (block,) = re.findall(r"^```sh topology\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)

    assert len(block.splitlines()) == 5


def test_the_change_log_is_open_for_the_next_release() -> None:
    assert re.findall(r"^## \[?(\w+)", CHANGELOG, re.MULTILINE)[0] == "Unreleased"


def test_the_version_is_a_plain_release_number() -> None:
    assert re.fullmatch(r"\d+\.\d+\.\d+", __version__)


def test_every_runtime_dependency_has_a_lower_and_an_upper_bound() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *extras["plan"], *extras["postgres"], *extras["sso"]]

    loose = [need for need in wanted if not re.search(r">=[\d.]+,<[\d.]+$", need)]

    assert loose == ["tzdata>=2026.1"]


def test_decisions_are_numbered_one_after_the_other() -> None:
    numbers = re.findall(r"^(\d+)\. \*\*", DEVELOPERS.partition("## Decisions")[2], re.MULTILINE)

    assert numbers == [f"{number}" for number in range(1, len(numbers) + 1)]


@pytest.mark.parametrize("name", sorted(READERS))
def test_every_setting_is_described_for_developers(name: str) -> None:
    assert f"`{PREFIX}{name}`" in DEVELOPERS


def test_the_licence_is_the_one_the_package_declares() -> None:
    text = (PROJECT / "LICENSE").read_text("utf-8")

    assert ("Apache License" in text, "Version 2.0" in text) == (True, True)
