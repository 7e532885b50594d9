"""Where the demonstration runs: a file, a free port, a time zone, a browser."""

import os
import socket
import sys
import tempfile
import time
import webbrowser
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from threading import Thread
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

PORTS_TRIED: Final = 50
ANSWERS_WITHIN_SECONDS: Final = 60
ELSEWHERE: Final = "Europe/London"
FILE: Final = "fourth-hour-demo.db"


class OtherWard(Exception):
    """The database belongs to somebody: it holds wards, and none of them is the demo's."""


@contextmanager
def database_for(named: str | None, *, keep: bool) -> Iterator[str]:
    """The address of the database: the one that is named, or a new file, removed unless kept."""
    if named is not None:
        yield named if "://" in named else f"sqlite:///{Path(named).expanduser()}"
    elif keep:
        yield f"sqlite:///{Path(tempfile.mkdtemp(prefix='fourth-hour-')) / FILE}"
    else:
        with tempfile.TemporaryDirectory(
            prefix="fourth-hour-", ignore_cleanup_errors=True
        ) as folder:
            yield f"sqlite:///{Path(folder) / FILE}"


def free_port(host: str, wanted: int) -> int:
    """The wanted port, or the next one above it that is free; 0 gives any free one.

    Raises OSError if the host cannot be listened on, or nothing near the port is free.
    """
    if wanted == 0:
        return _bound(host, 0)
    for port in range(wanted, min(wanted + PORTS_TRIED, 65_536)):
        with suppress(OSError):
            return _bound(host, port)
    raise OSError(f"no port from {wanted} on can be listened on at {host}")


def timezone_of(environment: Mapping[str, str], localtime: Path = Path("/etc/localtime")) -> str:
    """The machine's time zone by its IANA name, so that the ward's clock looks familiar."""
    _, _, linked = os.path.realpath(localtime).partition("zoneinfo/")
    for name in (environment.get("TZ", "").lstrip(":"), linked):
        if name and _is_zone(name):
            return name
    return ELSEWHERE


def has_display(environment: Mapping[str, str], platform: str = sys.platform) -> bool:
    """Whether a browser window could open here."""
    if platform in ("darwin", "win32"):
        return True
    return bool(environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"))


def open_browser_at(
    address: str, host: str, port: int, show: Callable[[str], object] = webbrowser.open
) -> Thread:
    """Open a browser as soon as the board answers, without waiting for it here."""
    waiting = Thread(target=_open_when_up, args=(address, host, port, show), daemon=True)
    waiting.start()
    return waiting


def _open_when_up(address: str, host: str, port: int, show: Callable[[str], object]) -> None:
    deadline = time.monotonic() + ANSWERS_WITHIN_SECONDS
    while time.monotonic() < deadline:
        try:
            socket.create_connection((host, port), timeout=1).close()
        except OSError:
            time.sleep(0.2)
        else:
            show(address)
            return


def _bound(host: str, port: int) -> int:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with closing(socket.socket(family, socket.SOCK_STREAM)) as probe:
        if os.name == "posix":
            # Elsewhere this would let two programs share a port.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((host, port))
        return int(probe.getsockname()[1])


def _is_zone(name: str) -> bool:
    try:
        return bool(ZoneInfo(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
