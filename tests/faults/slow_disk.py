"""A disk that takes its time: under a file each wait for it is longer, a server gets few turns."""

import os
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from shutil import which
from threading import Event, Thread
from typing import Final

import pytest

from tests.databases import PostgresServer
from tests.faults.outage import signal_all

SYNC_MILLISECONDS: Final = 300
STOPPED_SECONDS, RUNNING_SECONDS = 0.3, 0.03

# What waits for the disk waits longer; everything else is as it is. Loaded before the C library.
_SLOW: Final = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <unistd.h>

static int slowly(const char *name, int file) {
    int (*real)(int) = (int (*)(int)) dlsym(RTLD_NEXT, name);
    usleep(MILLISECONDS * 1000);
    return real(file);
}

int fsync(int file) { return slowly("fsync", file); }
int fdatasync(int file) { return slowly("fdatasync", file); }
"""


def make_slow_sync(folder: Path) -> Path:
    """A library before which every wait for the disk takes longer; a loud skip without `cc`."""
    compiler = which("cc")
    if compiler is None:
        pytest.skip("SLOW DISK NOT TESTED UNDER SQLITE: there is no C compiler here")
    source, library = folder / "slow.c", folder / "slow.so"
    source.write_text(_SLOW.replace("MILLISECONDS", f"{SYNC_MILLISECONDS}"), "utf-8")
    command = [compiler, "-shared", "-fPIC", "-o", f"{library}", f"{source}", "-ldl"]
    subprocess.run(command, check=True)
    return library


@contextmanager
def slow_server(postgres: PostgresServer) -> Iterator[None]:
    """Every process of the server is stopped and let go on by turns, for a tenth of the time."""
    enough = Event()
    turns = Thread(target=_take_turns, args=(postgres, enough))
    turns.start()
    try:
        yield
    finally:
        enough.set()
        turns.join()


def _take_turns(postgres: PostgresServer, enough: Event) -> None:
    while not enough.wait(RUNNING_SECONDS):
        stopped = signal_all(postgres, signal.SIGSTOP)
        enough.wait(STOPPED_SECONDS)
        for process in stopped:
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGCONT)
