"""Messages over real HTTP: signed, bounded, one by one, and no receiver waits for another."""

import json
import socket
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from itertools import count
from pathlib import Path
from threading import Thread
from time import monotonic

import pytest
from standardwebhooks.webhooks import Webhook as Library

from server.clock import utc_now
from server.domain.words import Role, Stage
from server.jobs import deliver
from server.jobs.deliver import READ_BYTES, run_deliver
from server.services.actor import Actor
from server.services.enter_webhook import WebhookDraft, enter_webhook
from server.services.list_deliveries import list_deliveries, send_trial
from server.services.tick import tick
from server.store.webhooks import Webhook
from tests.api.board_api import NOON, BoardApi
from tests.jobs.test_scheduler import wait_until
from tests.ports import free_port
from tests.receiver import Receiver, Reply, receiving

PEM = Path(__file__).parent / "receiver.pem"  # made for these tests; opens nothing else
ADMIN = Actor("admin", "Ada", Role.ADMINISTRATOR, None)


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    """A receiver that takes everything."""
    with receiving() as opened:
        yield opened


def webhook(ward: BoardApi, address: str, name: str = "pager") -> Webhook:
    """A webhook that goes to a receiver of the test."""
    draft = WebhookDraft(name, name, address, frozenset(Stage), frozenset({"w1"}))
    with ward.store.write() as session:
        return enter_webhook(session, ADMIN, draft, allow_http=True, now=NOON)


def trial(ward: BoardApi, name: str = "pager") -> str:
    """Have a message wait for a webhook; its id."""
    with ward.store.write() as session:
        return send_trial(session, ADMIN, name, "w1", now=NOON).id


def answers(ward: BoardApi, name: str = "pager") -> list[tuple[str, str | None]]:
    """How the messages of a webhook stand, the newest first, with the last answer."""
    with ward.store.read() as session:
        letters = list_deliveries(session, ADMIN, name, now=NOON).letters
    return [(one.delivery.state.value, one.delivery.answer) for one in letters]


def test_a_reminder_arrives_once_signed_and_typed(ward: BoardApi, receiver: Receiver) -> None:
    now = utc_now().replace(microsecond=0)
    ward.clock.now = now
    secret = webhook(ward, receiver.address("/in?key=1")).secret
    ward.record("e1", "issued", now - timedelta(minutes=22))
    tick(ward.store, now=now)

    for second in range(3):
        run_deliver(ward.store, now + timedelta(seconds=second))

    raised = {one["id"] for one in ward.get("/api/reminders", ward_id="w1").json()}
    for request in receiver.received:
        Library(secret).verify(request.body.decode(), request.headers)
        assert request.path == "/in?key=1"
        assert request.headers["content-type"] == "application/json"
        assert request.headers["user-agent"].startswith("fourth-hour/")
    told = [json.loads(one.body)["data"]["reminder_id"] for one in receiver.received]
    assert sorted(told) == sorted(raised)
    assert len({one.headers["webhook-id"] for one in receiver.received}) == len(raised) > 0


def test_every_try_of_a_message_is_under_one_id(ward: BoardApi) -> None:
    numbers = count(1)
    with receiving(lambda _: Reply(500 if next(numbers) < 3 else 200)) as receiver:
        webhook(ward, receiver.address())
        sent = trial(ward)
        for second in range(20):
            run_deliver(ward.store, NOON + timedelta(seconds=second))
        ids = [one.headers["webhook-id"] for one in receiver.received]

    assert (ids, answers(ward)) == ([sent] * 3, [("delivered", "HTTP 200")])


def test_one_that_hangs_holds_up_no_other(
    ward: BoardApi, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(deliver, "TRY_SECONDS", 6.0)
    with receiving(lambda _: Reply(hangs=True)) as silent:
        webhook(ward, silent.address(), "a silent one")
        webhook(ward, receiver.address())
        for name in ("a silent one", "a silent one", "pager"):
            trial(ward, name)
        first = Thread(target=run_deliver, args=(ward.store, NOON))
        first.start()
        wait_until(lambda: len(receiver.received) == 1)
        trial(ward)
        wait_until(lambda: run_deliver(ward.store, NOON) == 0 and len(receiver.received) == 2)
        hangs = first.is_alive()
        first.join()
        asked = len(silent.received)

    assert hangs, "others wait for one that hangs"
    assert asked == 1, "the others of one that hangs are kept for later"
    said = [("waiting", "no answer within 6 s"), ("waiting", None)]
    assert sorted(answers(ward, "a silent one"), key=str) == said


def test_one_that_drips_is_cut_off_in_time_and_one_that_pours_is_not_read(
    ward: BoardApi, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(deliver, "TRY_SECONDS", 3.0)
    replies = {
        "/drips": Reply(200, body=b"x" * 1_000, drip=0.1),
        "/pours": Reply(200, body=b"x" * 50 * 1024 * READ_BYTES),
    }
    with receiving(lambda one: replies[one.path]) as receiver:
        for path in replies:
            webhook(ward, receiver.address(path), path[1:])
            trial(ward, path[1:])
        begun = monotonic()
        run_deliver(ward.store, NOON)
        seconds = monotonic() - begun

    assert (answers(ward, "drips"), answers(ward, "pours")) == (
        [("waiting", "no answer within 3 s")],
        [("delivered", "HTTP 200")],
    )
    assert seconds < 60


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_not_followed(ward: BoardApi, receiver: Receiver, status: int) -> None:
    away = {"location": receiver.address("/elsewhere")}
    with receiving(lambda _: Reply(status, away)) as mover:
        webhook(ward, mover.address())
        trial(ward)
        run_deliver(ward.store, NOON)

    assert (receiver.received, answers(ward)) == ([], [("waiting", f"HTTP {status}")])


def test_one_that_asks_for_rest_gets_it(ward: BoardApi) -> None:
    with receiving(lambda _: Reply(429, {"retry-after": "30"})) as busy:
        webhook(ward, busy.address())
        for _ in range(3):
            trial(ward)
        for second in range(0, 61, 10):
            run_deliver(ward.store, NOON + timedelta(seconds=second))
        asked = len(busy.received)

    assert asked == 3  # at 0, 30 and 60 s, one message each


def test_a_certificate_has_to_be_trusted_and_a_hospital_s_own_can_be(
    ward: BoardApi, monkeypatch: pytest.MonkeyPatch
) -> None:
    with receiving(pem=PEM) as receiver:
        webhook(ward, receiver.address())
        trial(ward)
        run_deliver(ward.store, NOON)
        refused = (answers(ward), len(receiver.received))
        monkeypatch.setenv("SSL_CERT_FILE", str(PEM))
        deliver._trusted.cache_clear()
        run_deliver(ward.store, NOON + timedelta(seconds=6))
        deliver._trusted.cache_clear()

    assert refused == ([("waiting", "its certificate is not trusted")], 0)
    assert answers(ward) == [("delivered", "HTTP 204")]


def test_what_is_wrong_with_a_connection_is_told(ward: BoardApi, receiver: Receiver) -> None:
    plain = receiver.address().replace("http://", "https://")
    with closing(socket.socket()) as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        Thread(target=_hang_up, args=(listening,), daemon=True).start()
        addresses = {
            "nobody": f"http://127.0.0.1:{free_port()}/",
            "plain": plain,
            "hangs up": f"http://127.0.0.1:{listening.getsockname()[1]}/",
            "odd": "http://127.0.0.1:1/%",
            "no name": "http://a..b/",
        }
        for name, address in addresses.items():
            webhook(ward, address, name)
            trial(ward, name)
        run_deliver(ward.store, NOON)

    assert {name: answers(ward, name)[0] for name in addresses} == {
        "nobody": ("waiting", "no connection"),
        "plain": ("waiting", "no connection"),
        "hangs up": ("waiting", "the connection broke"),
        "odd": ("waiting", "no connection"),
        "no name": ("waiting", "no connection"),
    }


def _hang_up(listening: socket.socket) -> None:
    opened, _ = listening.accept()
    opened.recv(65_536)
    opened.close()


def test_nothing_waits_and_nothing_is_done(ward: BoardApi, receiver: Receiver) -> None:
    webhook(ward, receiver.address())

    assert (run_deliver(ward.store, NOON), receiver.received) == (0, [])
