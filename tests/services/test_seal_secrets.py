"""Secrets of webhooks are sealed under the board's key, also those stored before there was one."""

from typing import Any, Final

from sqlalchemy import text

from server.services.board_key import BoardKey
from server.services.deliver import NOT_READABLE, take_post
from server.services.list_deliveries import send_trial
from server.services.seal_secrets import seal_secrets
from server.services.tend_webhook import rotate_secret
from server.store.idempotency import Answer, find_answer, keep_answer
from server.store.store import Store
from server.store.vault import NO_VAULT, SEALED, Vault
from server.store.webhooks import Webhook, read_webhook
from tests.domain.builders import at
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import enter, stored
from tests.services.people import ADMINISTRATOR

KEY: Final = BoardKey(bytes(range(32)))
VAULT: Final = Vault(KEY.part("vault"))


def kept(store: Store) -> list[Any]:
    """Both secrets as they stand in the database."""
    with store.read() as session:
        return list(session.rows(text("SELECT secret, old_secret FROM webhook"))[0])


@ON_BOTH_ENGINES
def test_what_was_stored_in_the_clear_is_sealed_and_signs_on(store: Store) -> None:
    first = enter(store).secret
    with store.write() as session:
        second = rotate_secret(session, ADMINISTRATOR, "pager", now=at(0))
        answer = {"id": "pager", "secret": second}
        for number, request in enumerate(("POST /api/webhooks/pager/secret", "POST /api/cover")):
            keep_answer(session, Answer("a", f"k{number}", request, "h", 201, answer, at(0)))
    in_clear = kept(store)

    without = seal_secrets(store)
    store.vault = VAULT
    sealed = [seal_secrets(store), seal_secrets(store)]

    assert (in_clear, without, sealed) == ([second, first], 0, [1, 0])
    assert [one.startswith(SEALED) for one in kept(store)] == [True, True]
    assert stored(store).secrets_at(at(1)) == (second, first)
    with store.read() as session:
        answers = [find_answer(session, "a", key) for key in ("k0", "k1")]
    assert [one.response["secret"] for one in answers if one] == [None, second]


def test_a_new_secret_is_never_stored_in_the_clear(store: Store) -> None:
    store.vault = VAULT
    first = enter(store).secret
    with store.write() as session:
        second = rotate_secret(session, ADMINISTRATOR, "pager", now=at(0))

    assert not {first, second} & set(kept(store))
    assert stored(store).secrets_at(at(1)) == (second, first)


def test_with_another_key_nothing_is_sent_and_the_webhook_says_why(store: Store) -> None:
    store.vault = VAULT
    enter(store)
    before = kept(store)
    store.vault = Vault(bytes(32))
    with store.write() as session:
        send_trial(session, ADMINISTRATOR, "pager", "w1", now=at(0))

    posts = take_post(store, "postman", now=at(0))

    off = stored(store)
    assert (posts, off.off_at, off.off_why) == ((), at(0), NOT_READABLE)
    assert kept(store) == before
    with store.write() as session:
        renewed = rotate_secret(session, ADMINISTRATOR, "pager", now=at(1))
    assert _secrets(store) == (renewed,)


def test_the_key_of_one_purpose_is_none_for_another() -> None:
    assert len({KEY.part("vault"), KEY.part("other"), KEY.key}) == 3
    assert KEY.part("vault") == BoardKey(bytes(range(32))).part("vault")


def test_whoever_has_no_key_sees_that_there_is_a_webhook(store: Store) -> None:
    store.vault = VAULT
    enter(store)
    store.vault = NO_VAULT

    assert stored(store).is_readable is False


def _secrets(store: Store) -> tuple[str, ...]:
    with store.read() as session:
        webhook = read_webhook(session, "pager")
    assert isinstance(webhook, Webhook)
    return webhook.secrets_at(at(2))
