"""Loads the program once; each process that begins here is forked from there, and is its own.

What comes after loading is the program's from its first line on. Reads orders as lines of JSON,
`{"arguments": […], "environment": {…}, "log": …}`, and answers each with the id of the process.
"""

import json
import os
import signal
import sys
from contextlib import suppress
from typing import Any

from server.cli import main


def _begin(order: dict[str, Any]) -> None:
    """Become the program; never returns."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.environ.update(order["environment"])
    log = os.open(order["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    nothing = os.open(os.devnull, os.O_RDONLY)
    for source, target in ((nothing, 0), (log, 1), (log, 2)):
        os.dup2(source, target)
    result = 1
    with suppress(SystemExit):
        result = main(order["arguments"])
    os._exit(result)


def _serve_orders() -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # who has ended is gone at once
    for line in sys.stdin:
        order = json.loads(line)
        process = os.fork()
        if process == 0:
            _begin(order)
        sys.stdout.write(f"{process}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    _serve_orders()
