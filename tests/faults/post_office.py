"""Receivers that fail now and then, and what they were sent in the end."""

import json
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path
from time import monotonic, sleep
from typing import Any, Final
from urllib.parse import urlsplit

from sqlalchemy import text
from standardwebhooks.webhooks import Webhook as Library

from server.store.store import Store
from tests.faults.programs import address_of
from tests.faults.small_ward import SmallWard
from tests.receiver import Received, Receiver, Reply, receiving

BRIDGES: Final = 3
FAILS_EVERY: Final = 11
HANGS_EVERY: Final = 97
REST_SECONDS: Final = 0.02  # before each answer: a kill finds somebody who waits for one
EMPTY_WITHIN_SECONDS: Final = 300.0

Letter = dict[str, Any]


@dataclass(frozen=True)
class PostOffice:
    """One receiver for all webhooks of the ward; `taken` counts by id what it said it has."""

    receiver: Receiver
    taken: Counter[str]

    def addresses(self) -> list[str]:
        """Where the webhooks lead to."""
        return [self.receiver.address(f"/bridge-{number}") for number in range(BRIDGES)]


@contextmanager
def unreliable() -> Iterator[PostOffice]:
    """A receiver that answers 500 to some and nothing to a few, whatever they are."""
    numbers, taken = count(1), Counter[str]()

    def reply(request: Received) -> Reply:
        number = next(numbers)
        if number % HANGS_EVERY == 0:
            return Reply(hangs=True)
        sleep(REST_SECONDS)
        if number % FAILS_EVERY == 0:
            return Reply(500)
        taken[request.headers["webhook-id"]] += 1
        return Reply()

    with receiving(reply) as receiver:
        yield PostOffice(receiver, taken)


def wait_until_empty(database: Path | str) -> None:
    """Wait until nothing is in the outbox any more."""
    begun = monotonic()
    while waiting := _values(database, "SELECT id FROM delivery WHERE state = 'waiting'"):
        assert monotonic() - begun < EMPTY_WITHIN_SECONDS, f"{len(waiting)} messages wait for ever"
        sleep(0.2)


def reminders_in(database: Path | str) -> set[str]:
    """The ids of every reminder that was raised."""
    return set(_values(database, "SELECT id FROM reminder"))


def fates_in(database: Path | str) -> Counter[str]:
    """How the messages ended."""
    return Counter(_values(database, "SELECT state FROM delivery"))


def letters_of(office: PostOffice, ward: SmallWard) -> dict[str, dict[str, list[Letter]]]:
    """What came, by the path of the webhook and the id of the message; every signature holds."""
    sorted_in: dict[str, dict[str, list[Letter]]] = defaultdict(lambda: defaultdict(list))
    secrets = {urlsplit(address).path: secret for address, secret in ward.secrets.items()}
    for request in office.receiver.received:
        seconds = int(request.headers["webhook-timestamp"])
        signed = Library(secrets[request.path]).sign(
            request.headers["webhook-id"],
            datetime.fromtimestamp(seconds).astimezone(),
            request.body.decode(),
        )
        assert signed == request.headers["webhook-signature"]
        letter = json.loads(request.body)["data"]
        sorted_in[request.path][request.headers["webhook-id"]].append(letter)
    return sorted_in


def stage_of(letter: Letter) -> tuple[Any, ...]:
    """What there may be one reminder of."""
    names = ("episode_id", "clock", "n", "stage", "repeat", "owed_at")
    return tuple(letter[name] for name in names)


def _values(database: Path | str, statement: str) -> list[str]:
    store = Store(address_of(database))
    with store.read() as session:
        found = [str(row[0]) for row in session.rows(text(statement))]
    store.close()
    return found
