"""Signatures of messages against the open specification Standard Webhooks and its own library.

https://github.com/standard-webhooks/standard-webhooks/blob/main/spec/standard-webhooks.md
"""

import json
from datetime import timedelta
from typing import Any

import pytest
from standardwebhooks.webhooks import Webhook as Receiver
from standardwebhooks.webhooks import WebhookVerificationError

from server.clock import utc_now
from server.domain.encoding import read_instant
from server.domain.signature import secret_of, signed_headers

# The library's own test vector (libraries/python/tests/test_webhooks.py, "test_sign_function"),
# from memory; the library is asked for the same below.
SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
MESSAGE = "msg_p5jXN8AQM9LWM0D4loKWxJek"
BODY = b'{"test": 2432232314}'


def received(headers: dict[str, str], body: bytes, secret: str) -> Any:
    """What the library says a receiver got; it refuses what is more than 5 min from now."""
    return Receiver(secret).verify(body.decode(), headers)


def test_the_worked_value_of_the_library() -> None:
    at = read_instant("2021-02-25T15:02:10Z")

    assert signed_headers(MESSAGE, at, BODY, [SECRET]) == {
        "webhook-id": MESSAGE,
        "webhook-timestamp": "1614265330",
        "webhook-signature": "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
    }
    assert Receiver(SECRET).sign(MESSAGE, at, BODY.decode()) == (
        "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    )


@pytest.mark.parametrize("size", [24, 32, 64])
def test_a_receiver_with_the_secret_takes_it_and_no_other(size: int) -> None:
    secret, other = secret_of(bytes(range(size))), secret_of(bytes(size))
    body = json.dumps({"text": "Bed 4 · Überwachung"}, ensure_ascii=False).encode()
    headers = signed_headers("m1", utc_now(), body, [secret])

    assert received(headers, body, secret) == {"text": "Bed 4 · Überwachung"}
    for spoiled, read_as, known in (
        (headers, body, other),
        (headers, body.replace(b"4", b"5"), secret),
        (headers | {"webhook-id": "m2"}, body, secret),
        (signed_headers("m1", utc_now() - timedelta(minutes=6), body, [secret]), body, secret),
    ):
        with pytest.raises(WebhookVerificationError):
            received(spoiled, read_as, known)


def test_while_a_secret_is_exchanged_a_receiver_with_either_takes_it() -> None:
    old, new, other = (secret_of(bytes([number]) * 32) for number in range(3))
    headers = signed_headers("m1", utc_now(), b"{}", [new, old])

    assert [received(headers, b"{}", known) for known in (old, new)] == [{}, {}]
    with pytest.raises(WebhookVerificationError):
        received(headers, b"{}", other)
