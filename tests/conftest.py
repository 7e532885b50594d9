"""What every lane shares: an environment without our own variables, and quick lanes first."""

import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import hypothesis
import pytest
from argon2 import PasswordHasher

from server.app import COLLECT_AFTER
from server.services import passwords
from tests.compiled import keep_what_is_compiled

PROJECT = Path(__file__).resolve().parent.parent
LANES = (
    "domain",
    "standards",
    "store",
    "planning",
    "services",
    "exchange",
    "api",
    "jobs",
    "pages",
    "architecture",
    "faults",
    "browser",
)
LONGEST = (
    "planning/test_plans.py",
    "services/test_seed_demo_shift.py",
    "api/test_schemathesis.py",
    "faults/test_kill.py",
    "faults/test_topology.py",
    "faults/test_many_streams.py",
    "faults/test_database_away.py",
    "browser/test_every_page.py",
)
"""Begun first in their lanes: whoever began one of them last would keep all of it waiting."""

BUSY: Final = (hypothesis.HealthCheck.too_slow,)
"""What a machine may be is no property of what is tested."""
hypothesis.settings.register_profile("local", deadline=None, suppress_health_check=BUSY)
hypothesis.settings.register_profile(
    "ci", deadline=None, derandomize=True, print_blob=True, suppress_health_check=BUSY
)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "local")
keep_what_is_compiled()
gc.disable()  # until all is collected: going through what stays took two thirds of that time

MEMORY: Final = Path("/dev/shm")  # noqa: S108 - pytest makes a folder in it that is its user's own
ROOM_BYTES: Final = 4 << 30


def _use_memory() -> None:
    """Have files of tests lie in memory where there is room: nothing here outlives the machine."""
    if "TMPDIR" in os.environ or not MEMORY.is_dir() or not os.access(MEMORY, os.W_OK):
        return
    if shutil.disk_usage(MEMORY).free >= ROOM_BYTES:
        os.environ["TMPDIR"] = str(MEMORY)
        tempfile.tempdir = None


def _keep_what_python_compiled() -> None:
    """Some thirty processes of the program are started; each would compile it anew."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False


_use_memory()
_keep_what_python_compiled()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Quick lanes first: what breaks, breaks early. Within a lane the order stays random.

    But for the files that take longest.
    """
    items.sort(key=_place)


def pytest_collection_finish() -> None:
    """Take all that was loaded out of the collector's rounds, as the program does that serves."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*COLLECT_AFTER)
    gc.enable()


def _place(item: pytest.Item) -> tuple[int, int]:
    file = item.path.relative_to(PROJECT / "tests")
    lane, name = file.parts[0], file.as_posix()
    return (
        LANES.index(lane) if lane in LANES else len(LANES),
        LONGEST.index(name) if name in LONGEST else len(LONGEST),
    )


@pytest.fixture(autouse=True, scope="session")
def _own_environment() -> Iterator[None]:
    """No test is told anything by the environment that the developer works in."""
    with pytest.MonkeyPatch.context() as patch:
        for name in [name for name in os.environ if name.startswith("FOURTH_HOUR_")]:
            patch.delenv(name)
        yield


@pytest.fixture(autouse=True, scope="session")
def full_hasher() -> Iterator[PasswordHasher]:
    """Passwords cost next to nothing in this process; the hasher of the program, at its price."""
    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    with pytest.MonkeyPatch.context() as patch:
        full = passwords._HASHER
        patch.setattr(passwords, "_HASHER", cheap)
        yield full


@pytest.fixture(scope="session")
def shared_folder() -> Path:
    """The folder of reference material beside the project; without it the test is skipped."""
    folder = PROJECT.parent / "shared"
    if not folder.is_dir():
        pytest.skip("SHARED FOLDER MISSING: ../shared is not beside the project")
    return folder
