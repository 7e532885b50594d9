"""The planner's core proves the known best ends of published scheduling problems.

Sources: see `instances`. Best known ends as agreed by three independent collections; those that
take longer than a few seconds are proven by `python -m tests.benchmarks planning`.
"""

from typing import Final

import pytest

from server.planning.solve import available
from tests.conftest import PROJECT
from tests.standards.vectors import vectors

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from tests.standards.instances import end_of

FOLDER: Final = PROJECT.parent / "shared" / "vectors" / "scheduling"
# Each takes several seconds alone.
LONG: Final = frozenset({"ft20.json", "j3013_3.sm", "j605_1.sm", "j3045_1.sm"})
KNOWN: Final = [
    (kind, name, one["optimum"])
    for kind, listed in vectors("scheduling/optima.json").items()
    for name, one in listed.items()
    if name not in LONG
]


@pytest.mark.parametrize(("kind", "name", "optimum"), KNOWN)
def test_the_known_end_is_found_and_proven(kind: str, name: str, optimum: int) -> None:
    assert end_of(FOLDER / kind / name) == (optimum, True)
