"""Serves a board whose clock is off by as many seconds as a file says at that moment."""

import os
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from server.app import serve
from server.clock import utc_now
from server.settings import read_settings


def main(arguments: list[str]) -> int:
    """Serve on a port by the clock of a file; the database comes from the environment."""
    port, told = int(arguments[0]), Path(arguments[1])

    def stepped() -> datetime:
        """The present instant as this clock shows it."""
        return utc_now() + timedelta(seconds=int(told.read_text("utf-8")))

    serve(replace(read_settings(os.environ), port=port), clock=stepped)
    return 0
