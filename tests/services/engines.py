"""The mark for tests that run on both engines; the others run on SQLite."""

from typing import Final

import pytest

from tests.databases import ENGINES

ON_BOTH_ENGINES: Final = pytest.mark.parametrize("address", ENGINES, indirect=True)
