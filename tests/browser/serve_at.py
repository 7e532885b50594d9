"""Serve a board whose clock shows a given instant now, and runs on from there.

`python -m tests.browser.serve_at PORT INSTANT`; the database comes from the environment.
"""

import os
import sys
from dataclasses import replace
from datetime import datetime

from server.app import serve
from server.clock import running_clock
from server.settings import read_settings

if __name__ == "__main__":
    port, shown = sys.argv[1:]
    settings = replace(read_settings(os.environ), port=int(port))
    serve(settings, clock=running_clock(datetime.fromisoformat(shown), speed=1))
