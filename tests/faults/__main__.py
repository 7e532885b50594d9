"""`python -m tests.faults`: try faults one by one, and print what was measured of each.

`python -m tests.faults outage --seconds 30` has the database gone for as long as that.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import pytest

from tests.faults.outage import OUTAGE_SECONDS

FOLDER: Final = Path(__file__).parent
OUTAGE: Final = "outage"
FILES: Final = {
    file.stem.removeprefix("test_").replace("_", "-"): file
    for file in sorted(FOLDER.glob("test_*.py"))
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Try the faults that are named, or all; 1 if one did more harm than it may."""
    names = (OUTAGE, *FILES)
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(names)}")
    parser.add_argument("--seconds", type=float, help="for how long the database is gone")
    given = parser.parse_args(arguments)
    unknown = [name for name in given.names if name not in names]
    if unknown:
        parser.error(f"no fault {', '.join(unknown)}; expected of {', '.join(names)}")
    if given.seconds is not None:
        os.environ[OUTAGE_SECONDS] = f"{given.seconds:g}"
    tried = [_tests_of(name) for name in given.names or FILES]
    return int(pytest.main(["-n0", "-q", "-s", "-p", "no:randomly", *tried]))


def _tests_of(name: str) -> str:
    if name != OUTAGE:
        return str(FILES[name])
    test = "test_while_the_database_is_gone_it_says_so_and_afterwards_it_catches_up_once"
    return f"{FILES['database-away']}::{test}"


if __name__ == "__main__":
    sys.exit(main())
