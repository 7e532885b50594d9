"""Published tables and vectors that lie beside the project; without them a loud skip."""

import json
from typing import Any

import pytest

from tests.conftest import PROJECT


def vectors(name: str) -> Any:
    """One file of vectors. Skips the whole module, with the reason, where it is missing."""
    file = PROJECT.parent / "shared" / "vectors" / name
    if not file.is_file():
        pytest.skip(f"VECTORS MISSING: ../shared has no {name}", allow_module_level=True)
    return json.loads(file.read_text("utf-8"))
