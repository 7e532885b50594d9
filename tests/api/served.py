"""A board behind a real server, for what only a connection shows: streams, and how they end."""

import gc
import json
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any, NamedTuple

import httpx2
from fastapi import FastAPI

from server.app import BoardServer, create_app
from server.settings import Settings
from tests.api.board_api import BoardApi, StoppedClock

PATIENCE_SECONDS = 60.0


class Told(NamedTuple):
    """One server-sent event."""

    event: str
    data: Any
    id: str | None


class Served(NamedTuple):
    """A board that is being served at `address`."""

    api: BoardApi
    app: FastAPI
    server: BoardServer
    address: str

    @contextmanager
    def stream(self, ward_id: str = "w1", **more: Any) -> Iterator[Iterator[Told]]:
        """An open stream, event by event."""
        headers = self.api.headers("interface") | more.pop("headers", {})
        client = httpx2.Client(base_url=self.address, timeout=PATIENCE_SECONDS)
        asked = {"ward_id": ward_id} | more
        with client, client.stream("GET", "/api/stream", params=asked, headers=headers) as answer:
            assert answer.status_code == 200
            assert answer.headers["content-type"].startswith("text/event-stream")
            yield told(answer.iter_lines())


@contextmanager
def served(template: Path, folder: Path, **options: Any) -> Iterator[Served]:
    """Serve a board on a free port until the test is over."""
    file = folder / "served.db"
    shutil.copyfile(template, file)
    clock = StoppedClock()
    settings = Settings(database=f"sqlite:///{file}")
    app = create_app(settings, run_jobs=False, clock=clock, **options)
    server = BoardServer(app, host="127.0.0.1", port=0)
    thread = Thread(target=server.run)
    thread.start()
    try:
        wait_until(lambda: server.started)
        port = server.servers[0].sockets[0].getsockname()[1]
        address = f"http://127.0.0.1:{port}"
        with httpx2.Client(base_url=address, timeout=PATIENCE_SECONDS) as client:
            yield Served(BoardApi(client, app.state.store, clock), app, server, address)
    finally:
        server.handle_exit(signal.SIGTERM, None)
        thread.join(PATIENCE_SECONDS)
        gc.unfreeze()
    assert not thread.is_alive()


def told(lines: Iterator[str]) -> Iterator[Told]:
    """Read server-sent events from lines."""
    said: dict[str, str] = {}
    for line in lines:
        if line:
            name, _, value = line.partition(": ")
            said[name] = value
        elif said:
            yield Told(said["event"], json.loads(said["data"]), said.get("id"))
            said = {}


def next_of(stream: Iterator[Told], event: str) -> Told:
    """The next event of a name, passing over others."""
    return next(one for one in stream if one.event == event)


def wait_until(holds: Any, seconds: float = PATIENCE_SECONDS) -> None:
    """Wait for something that another thread does."""
    until = monotonic() + seconds
    while not holds():
        assert monotonic() < until, "waited in vain"
        sleep(0.01)
