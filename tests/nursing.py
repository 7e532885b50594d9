"""Loads the program once; each process that begins here is forked from there, and is its own.

What comes after loading is the program's from its first line on. Reads orders as lines of JSON,
`{"module": …, "arguments": […], "environment": {…}, "log": …}`, and answers each with the id of the
process, which calls `main` of the module and ends with what it answers.
"""

import gc
import json
import os
import signal
import sys
from contextlib import suppress
from importlib import import_module
from typing import Any

import server.cli  # noqa: F401 - loaded here, and by none of those that begin
from server.app import _routes


def _begin(order: dict[str, Any]) -> None:
    """Become the program; never returns."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.environ.clear()
    os.environ.update(order["environment"])
    log = os.open(order["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    nothing = os.open(os.devnull, os.O_RDONLY)
    for source, target in ((nothing, 0), (log, 1), (log, 2)):
        os.dup2(source, target)
    result = 1
    with suppress(SystemExit):
        result = import_module(order["module"]).main(order["arguments"])
    sys.stdout.flush()
    os._exit(result)


def _serve_orders() -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # who has ended is gone at once
    _routes()
    gc.freeze()  # nobody who begins goes through all of it again
    for line in sys.stdin:
        order = json.loads(line)
        process = os.fork()
        if process == 0:
            _begin(order)
        sys.stdout.write(f"{process}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    _serve_orders()
