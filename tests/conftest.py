"""What every lane shares: an environment without our own variables, and quick lanes first."""

import os
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

PROJECT = Path(__file__).resolve().parent.parent
LANES = (
    "domain",
    "standards",
    "store",
    "planning",
    "services",
    "api",
    "jobs",
    "pages",
    "architecture",
    "faults",
    "browser",
)

hypothesis.settings.register_profile("local", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "local")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Quick lanes first: what breaks, breaks early. Within a lane the order stays random."""
    items.sort(key=_lane)


def _lane(item: pytest.Item) -> int:
    folder = item.path.relative_to(PROJECT / "tests").parts[0]
    return LANES.index(folder) if folder in LANES else len(LANES)


@pytest.fixture(autouse=True, scope="session")
def _own_environment() -> Iterator[None]:
    """No test is told anything by the environment that the developer works in."""
    with pytest.MonkeyPatch.context() as patch:
        for name in [name for name in os.environ if name.startswith("FOURTH_HOUR_")]:
            patch.delenv(name)
        yield


@pytest.fixture(scope="session")
def shared_folder() -> Path:
    """The folder of reference material beside the project; without it the test is skipped."""
    folder = PROJECT.parent / "shared"
    if not folder.is_dir():
        pytest.skip("SHARED FOLDER MISSING: ../shared is not beside the project")
    return folder
