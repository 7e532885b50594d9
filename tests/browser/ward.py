"""A real server for the browser lane: an invented ward in a file, served by the program."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from time import monotonic, sleep

import httpx

from seed_demo.tell import tell_ward
from server.clock import utc_now
from server.domain.words import Role, Stage
from server.services.actor import Actor
from server.services.enter_webhook import WebhookDraft, enter_webhook
from server.services.list_deliveries import send_trial
from server.services.tend_webhook import pause_webhook
from server.services.wall_links import make_wall_link
from server.store.migrate import migrate
from server.store.store import Store
from tests.nursery import PATIENCE_SECONDS, Forked, begin
from tests.ports import free_port

ADMIN = Actor("browser", "Browser lane", Role.ADMINISTRATOR, None)
WARD = "lantern"
WEBHOOK = "pager"
PAGER = WebhookDraft(
    WEBHOOK, "Pagers of the ward", "https://pager.example/in", frozenset(Stage), frozenset({WARD})
)


@dataclass(frozen=True)
class Ward:
    """The running server: its address, its database and the address of its wall view."""

    address: str
    database: str
    wall: str
    process: Forked


@contextmanager
def served_ward(folder: Path) -> Iterator[Ward]:
    """Tell the ward its day so far, and serve it until the block is left."""
    database = f"sqlite:///{folder / 'ward.db'}"
    wall = _tell(database)
    port = free_port()
    with serving(database, port, folder / "log") as process:
        yield Ward(f"http://127.0.0.1:{port}", database, f"/wall/{wall}", process)


def _tell(database: str) -> str:
    migrate(database)
    store = Store(database)
    now = utc_now()
    tell_ward(store, seed=1, start=now, timezone="Pacific/Auckland")
    with store.write() as session:
        secret = make_wall_link(session, ADMIN, WARD, now=now)
        enter_webhook(session, ADMIN, PAGER, allow_http=False, now=now)
        send_trial(session, ADMIN, WEBHOOK, WARD, now=now)
        pause_webhook(session, ADMIN, WEBHOOK, now=now)
    store.close()
    return secret


@contextmanager
def serving(
    database: str, port: int, log: Path, *, shown: datetime | None = None
) -> Iterator[Forked]:
    """Run `fourth-hour serve` on a database until the block is left; `shown`: as if now."""
    environment = os.environ | {"FOURTH_HOUR_DATABASE": database}
    if shown is None:
        process = begin(["serve", "--port", f"{port}"], environment, log)
    else:
        arguments = [f"{port}", shown.isoformat()]
        process = begin(arguments, environment, log, module="tests.browser.serve_at")
    try:
        _wait_for(f"http://127.0.0.1:{port}/readyz", process, log)
        yield process
    finally:
        process.terminate()
        process.wait()


def _wait_for(address: str, process: Forked, log: Path) -> None:
    until = monotonic() + PATIENCE_SECONDS
    while monotonic() < until:
        if process.poll() is not None:
            break
        try:
            if httpx.get(address, timeout=20).status_code == 200:
                return
        except httpx.TransportError:
            pass
        sleep(0.02)
    raise AssertionError(f"the server did not come up:\n{log.read_text()[-2000:]}")
