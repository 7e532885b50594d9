"""Serves a board whose clock shows a given instant now, and runs on from there."""

import os
from dataclasses import replace
from datetime import datetime

from server.app import serve
from server.clock import running_clock
from server.settings import read_settings


def main(arguments: list[str]) -> int:
    """Serve on a port from an instant on; the database comes from the environment."""
    port, shown = arguments
    settings = replace(read_settings(os.environ), port=int(port))
    serve(settings, clock=running_clock(datetime.fromisoformat(shown), speed=1))
    return 0
