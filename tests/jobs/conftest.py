"""A ward whose clocks a test can let pass: the store, a clock, and the interface to chart with."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.board_api import BoardApi
from tests.api.conftest import opened_api
from tests.databases import sqlite_template

__all__ = ["sqlite_template"]


@pytest.fixture
def ward(sqlite_template: Path, tmp_path: Path) -> Iterator[BoardApi]:
    """Ward `w1` with episode `e1`, and no scheduler but what the test starts."""
    with opened_api(sqlite_template, tmp_path) as opened:
        opened.ward()
        opened.episode()
        yield opened
