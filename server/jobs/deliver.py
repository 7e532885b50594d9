"""Send what is in the outbox over HTTP.

Receivers side by side, the messages of one after the other, each try with one limit of time for
all of it: one that hangs holds up nobody else, and its own messages for a few seconds.
"""

import asyncio
import ssl
from datetime import datetime, timedelta
from functools import cache
from secrets import token_hex
from time import monotonic
from typing import Final

import httpx

from server import __version__
from server.domain.delivery import Answer
from server.services.deliver import Message, Post, hand_back, message_of, note_answer, take_post
from server.store.store import Store

TRY_SECONDS: Final = 5.0
# No try begins later than this, so that all end within the lease.
BEGUN_WITHIN_SECONDS: Final = 4.0
AT_ONCE: Final = 8
READ_BYTES: Final = 4_096
HEADERS: Final = {"user-agent": f"fourth-hour/{__version__}", "accept": "*/*"}


def run_deliver(store: Store, now: datetime) -> object:
    """Send what is due at `now`; how many webhooks had something to be sent."""
    posts = take_post(store, token_hex(8), now=now)
    if posts:
        asyncio.run(_send_all(store, posts, _Watch(now)))
    return len(posts)


class _Watch:
    """The instant, from the one that a run was told and the time it has taken since."""

    def __init__(self, now: datetime) -> None:
        self._now, self._begun = now, monotonic()

    def seconds(self) -> float:
        """How long the run has taken."""
        return monotonic() - self._begun

    def now(self) -> datetime:
        """The present instant."""
        return self._now + timedelta(seconds=self.seconds())


async def _send_all(store: Store, posts: tuple[Post, ...], watch: _Watch) -> None:
    places = asyncio.Semaphore(AT_ONCE)
    async with (
        httpx.AsyncClient(verify=_trusted(), headers=HEADERS, timeout=TRY_SECONDS) as client,
        asyncio.TaskGroup() as group,
    ):
        for post in posts:
            group.create_task(_send_post(store, client, places, post, watch))


async def _send_post(
    store: Store, client: httpx.AsyncClient, places: asyncio.Semaphore, post: Post, watch: _Watch
) -> None:
    """The letters of one webhook, until it does not answer or asks to be left alone."""
    async with places:
        for letter in post.letters:
            if watch.seconds() > BEGUN_WITHIN_SECONDS:
                break
            answer = await _try(client, message_of(post.webhook, letter, now=watch.now()))
            await asyncio.to_thread(note_answer, store, post, letter, answer, now=watch.now())
            if answer.status is None or answer.retry_after is not None:
                break
    await asyncio.to_thread(hand_back, store, post)


async def _try(client: httpx.AsyncClient, message: Message) -> Answer:
    try:
        async with asyncio.timeout(TRY_SECONDS):
            return await _post(client, message)
    except (TimeoutError, httpx.TimeoutException):
        return Answer(None, f"no answer within {TRY_SECONDS:.0f} s")
    except httpx.ConnectError as failure:
        trust = "CERTIFICATE_VERIFY_FAILED" in str(failure)
        return Answer(None, "its certificate is not trusted" if trust else "no connection")
    except (httpx.HTTPError, httpx.InvalidURL, OSError):
        return Answer(None, "the connection broke")


async def _post(client: httpx.AsyncClient, message: Message) -> Answer:
    """Post, and read so little of the answer that the connection can be used again, or not."""
    async with client.stream(
        "POST", message.address, content=message.body, headers=message.headers
    ) as response:
        read = 0
        async for some in response.aiter_raw():
            read += len(some)
            if read > READ_BYTES:
                break
        return Answer(response.status_code, retry_after=response.headers.get("retry-after"))


@cache
def _trusted() -> ssl.SSLContext:
    """Whom the machine trusts, a hospital's own authority too; reading it takes a while."""
    return ssl.create_default_context()
