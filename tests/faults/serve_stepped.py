"""Serve a board whose clock is off by as many seconds as a file says at that moment.

`python -m tests.faults.serve_stepped PORT FILE`; the database comes from the environment.
"""

import os
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from server.app import serve
from server.clock import utc_now
from server.settings import read_settings


def _off_by(file: Path) -> timedelta:
    return timedelta(seconds=int(file.read_text("utf-8")))


if __name__ == "__main__":
    port, told = int(sys.argv[1]), Path(sys.argv[2])

    def stepped() -> datetime:
        """The present instant as this clock shows it."""
        return utc_now() + _off_by(told)

    serve(replace(read_settings(os.environ), port=port), clock=stepped)
