"""A figure that is as good as another, for use inside whole values."""

from typing import Any

import pytest


def near(figure: float, within: float = 1e-12) -> Any:
    """Equal to any number that differs by no more than `within`."""
    return pytest.approx(figure, rel=0, abs=within)
