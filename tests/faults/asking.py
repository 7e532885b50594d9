"""What a fault looks like from outside: questions, their answers, and a stream to follow."""

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from threading import Thread
from time import monotonic, sleep
from typing import Any, Final, TypeVar

import httpx

from server.clock import utc_now
from server.domain.words import Role
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.sign_in import sign_in
from server.store.store import Store
from tests.faults.programs import Running, address_of
from tests.faults.small_ward import ADMINISTRATOR, WARD, SmallWard

ANSWERED_WITHIN_SECONDS: Final = 90.0
NORMAL_WITHIN_SECONDS: Final = 90.0
"""For how long something is waited for that comes within a second on a machine at rest."""
LOOK_EVERY_SECONDS: Final = 0.05
FOLLOWED_SECONDS: Final = 120.0
Found = TypeVar("Found")


@dataclass(frozen=True)
class Answered:
    """An answer: its status, its kind and text, and how many seconds it took."""

    status: int
    kind: str
    text: str
    seconds: float

    @property
    def problem(self) -> str:
        """The kind of a problem, empty for what is none."""
        if self.kind != "application/problem+json":
            return ""
        return str(json.loads(self.text)["type"]).rpartition(":")[2]


def say(figures: object) -> None:
    """A figure for whoever reads the log of the tests."""
    sys.stdout.write(f"\n{figures}\n")


def wait_for(
    look: Callable[[], Found | None], within: float = NORMAL_WITHIN_SECONDS
) -> tuple[Found, float]:
    """What `look` finds in the end, and after how many seconds."""
    begun = monotonic()
    while monotonic() - begun < within:
        with suppress(httpx.TransportError):
            found = look()
            if found:
                return found, monotonic() - begun
        sleep(LOOK_EVERY_SECONDS)
    message = f"it did not come within {within:g} s"
    raise AssertionError(message)


def until_normal(served: Running, ward: SmallWard) -> float:
    """Wait until it has its database and its clocks are checked; how many seconds that took."""
    _, seconds = wait_for(lambda: get(served, "/readyz", ward).status == 200)
    return seconds


def get(served: Running, path: str, ward: SmallWard) -> Answered:
    """Ask a program's question."""
    return _ask(served, "GET", path, _bearer(ward))


def look_at_board(served: Running, secret: str) -> Answered:
    """Open the board's page, as somebody who is signed in."""
    cookie = {"Cookie": f"fourth_hour_session={secret}", "Accept": "text/html"}
    return _ask(served, "GET", f"/wards/{WARD}/board", cookie)


def post_note(
    served: Running,
    ward: SmallWard,
    key: str,
    number: int = 0,
    happened_at: datetime | None = None,
) -> Answered:
    """Record a note under a key, of now unless an instant is given."""
    at = happened_at or utc_now()
    body = {"kind": "note", "happened_at": f"{at:%FT%TZ}", "text": f"note {key}"}
    headers = _bearer(ward) | {"Idempotency-Key": key}
    return _ask(served, "POST", f"/api/episodes/e{number}/events", headers, body)


def _bearer(ward: SmallWard) -> dict[str, str]:
    return {"Authorization": f"Bearer {ward.token}"}


def _ask(
    served: Running, method: str, path: str, headers: dict[str, str], body: Any = None
) -> Answered:
    begun = monotonic()
    answer = httpx.request(
        method, served.base + path, headers=headers, json=body, timeout=ANSWERED_WITHIN_SECONDS
    )
    kind = answer.headers.get("content-type", "").partition(";")[0]
    return Answered(answer.status_code, kind, answer.text, monotonic() - begun)


def signed_in(ward: SmallWard) -> str:
    """Enter a nurse and sign her in; the secret of her cookie."""
    store, now = Store(address_of(ward.database)), utc_now()
    with store.write() as session:
        draft = StaffDraft(None, "Rosa Quill", Role.BEDSIDE_NURSE, frozenset({WARD}))
        nurse = enter_staff(session, ADMINISTRATOR, draft, now=now)
        secret = sign_in(session, nurse, now=now).secret
    store.close()
    return secret


@dataclass
class Following(Thread):
    """A stream of the ward that is read until it ends; `said` with the moment each event came."""

    served: Running
    token: str
    said: list[tuple[float, str, dict[str, Any]]] = field(default_factory=list)
    ended: bool = False

    def __post_init__(self) -> None:
        super().__init__(daemon=True)

    def __hash__(self) -> int:
        return id(self)

    def run(self) -> None:
        """Read; an end that comes from the other side is noted."""
        headers = {"Authorization": f"Bearer {self.token}"}
        address = f"{self.served.base}/api/stream?ward_id={WARD}"
        with (
            suppress(httpx.TransportError),
            httpx.stream("GET", address, headers=headers, timeout=FOLLOWED_SECONDS) as stream,
        ):
            self._read(stream.iter_lines())
        self.ended = True

    def _read(self, lines: Iterator[str]) -> None:
        event = ""
        for line in lines:
            name, _, text = line.partition(": ")
            if name == "event":
                event = text
            elif name == "data":
                self.said.append((monotonic(), event, json.loads(text)))

    def of(self, event: str, since: float = 0.0) -> list[dict[str, Any]]:
        """What was said by events of one name, from a moment on."""
        return [data for at, name, data in list(self.said) if name == event and at >= since]

    def told_of(self, episode_id: str, since: float = 0.0) -> float | None:
        """The moment at which it first said, from a moment on, that a unit changed."""
        told = (
            at
            for at, name, data in list(self.said)
            if name == "changed" and at >= since and episode_id in data["episode_ids"]
        )
        return next(told, None)

    def longest_silence(self, since: float, until: float) -> float:
        """The longest time between two events of this stretch, in seconds."""
        moments = [since, *(at for at, _, _ in list(self.said) if since <= at <= until), until]
        return max(after - before for before, after in pairwise(moments))


@contextmanager
def following(served: Running, ward: SmallWard) -> Iterator[Following]:
    """Follow the ward's stream, from its first sign of life on."""
    stream = Following(served, ward.token)
    stream.start()
    wait_for(lambda: stream.of("tick"))
    yield stream
