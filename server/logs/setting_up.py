"""Have everything that the program and its libraries tell go through one log."""

import logging
import threading
from enum import StrEnum
from typing import Final

from server.logs.lines import as_json, as_text
from server.logs.writer import LogWriter

LEVELS: Final = ("debug", "info", "warning", "error")
OWN: Final = ("server", "seed_demo", "uvicorn")
"""Whose lines are told from the level on that was asked for; of other libraries, warnings are."""

_LOG: Final = logging.getLogger(__name__)


class LogForm(StrEnum):
    """For whom the log is written."""

    TEXT = "text"
    JSON = "json"


def start_log(form: LogForm, level: str, *, out: int = 2) -> LogWriter:
    """Write to `out`, by default the standard error, from now on; faults of threads too."""
    writer = LogWriter(out)
    writer.setFormatter(as_json() if form is LogForm.JSON else as_text())
    logging.basicConfig(handlers=[writer], level=logging.WARNING, force=True)
    for name in OWN:
        logging.getLogger(name).setLevel(level.upper())
    logging.captureWarnings(capture=True)
    # Of each line it would ask the system again; a line says its process once.
    logging.logProcesses = logging.logThreads = False
    threading.excepthook = _tell_fault
    return writer


def _tell_fault(failed: threading.ExceptHookArgs) -> None:
    if failed.exc_type is SystemExit:
        return
    told = failed.exc_value or failed.exc_type()
    name = failed.thread.name if failed.thread else "unknown"
    _LOG.error("the thread %s ended in a fault", name, exc_info=told)
