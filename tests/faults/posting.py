"""Clients that record facts one after the other, and repeat a request until it is answered."""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from itertools import count
from threading import Event, Thread
from time import monotonic, sleep
from typing import Any, Final

from server.clock import utc_now
from tests.faults.small_ward import SmallWard

PATIENCE_SECONDS: Final = 120.0
RETRY_SECONDS: Final = 0.01
PAUSE_SECONDS: Final = 0.02  # most of the time somebody is waiting for an answer, not everybody


@dataclass
class Address:
    """Where the program is just now; it moves each time it was killed."""

    port: int = 0


@dataclass
class Client(Thread):
    """One client. `acknowledged` are the ids of the events by the key of their request.

    `slowest` is how many seconds the fact took that took longest.
    """

    ward: SmallWard
    address: Address
    number: int
    acknowledged: dict[str, str] = field(default_factory=dict)
    repeated: int = 0
    slowest: float = 0.0
    fault: str = ""
    enough: Event = field(default_factory=Event)

    def __post_init__(self) -> None:
        super().__init__(daemon=True)

    def __hash__(self) -> int:
        return id(self)

    def run(self) -> None:
        """Post until there is enough; the last request is answered too."""
        for key, episode_id, fact in self._facts():
            if self.enough.is_set() or self.fault:
                return
            begun = monotonic()
            self._post_until_answered(key, episode_id, fact)
            self.slowest = max(self.slowest, monotonic() - begun)
            sleep(PAUSE_SECONDS)

    def _post_until_answered(self, key: str, episode_id: str, fact: dict[str, Any]) -> None:
        while not self.fault:
            try:
                status, answer = self._post(key, episode_id, fact)
            except (OSError, HTTPException, json.JSONDecodeError):
                self.repeated += 1
                sleep(RETRY_SECONDS)
                continue
            if status == 201:
                self.acknowledged[key] = answer["event_id"]
                return
            if status != 503:
                self.fault = f"{status} {answer}"

    def _post(self, key: str, episode_id: str, fact: dict[str, Any]) -> tuple[int, Any]:
        connection = HTTPConnection("127.0.0.1", self.address.port, timeout=60)
        try:
            headers = {
                "Authorization": f"Bearer {self.ward.token}",
                "Content-Type": "application/json",
                "Idempotency-Key": key,
            }
            path = f"/api/episodes/{episode_id}/events"
            connection.request("POST", path, json.dumps(fact), headers)
            answer = connection.getresponse()
            return answer.status, json.loads(answer.read())
        finally:
            connection.close()

    def _facts(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        """Each fact under a key of its own; what differs in every one of them is `mark`."""
        units = self.ward.episode_ids
        for place in count():
            mark = round(self.number + place / 10_000, 4)
            facts: tuple[dict[str, Any], ...] = (
                {"kind": "note", "text": f"fact {mark}"},
                {"kind": "rate_set", "rate_ml_h": 60 + mark},
                {"kind": "observed", "temperature_c": 36.5, "pulse_per_min": 70},
                {"kind": "volume_read", "given_ml": mark},
            )
            happened_at = f"{utc_now():%Y-%m-%dT%H:%M:%SZ}"
            fact = facts[place % len(facts)] | {"happened_at": happened_at}
            unit = units[(self.number + place) % len(units)]
            yield f"client-{self.number}-fact-{place}", unit, fact


def finish(clients: list[Client]) -> None:
    """Let every client have its last answer."""
    for client in clients:
        client.enough.set()
    for client in clients:
        client.join(PATIENCE_SECONDS)
        assert not client.is_alive()
