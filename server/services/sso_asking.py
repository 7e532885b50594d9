"""Ask a provider of sign-ins over HTTP, for so long and so much, and say what came of it."""

import asyncio
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from typing import Any, Final

import httpx2
from authlib.integrations.base_client import OAuthError
from joserfc.errors import JoseError
from joserfc.jwk import KeySet

from server.services.sso_refusals import ProviderAway, ProviderRefused

MOST_BYTES: Final = 1_000_000
"""The longest answer that is read; what a provider says of itself and its keys takes 10 000."""


class TooLong(Exception):
    """An answer is longer than any that is read."""


async def _as_it_is(request: httpx2.Request) -> None:
    """Ask for an answer as it is: packed, a few bytes can stand for as many as anybody likes."""
    request.headers["accept-encoding"] = "identity"


async def _count(answer: httpx2.Response) -> None:
    """Have an answer counted while it is read. Raises ValueError for one that is packed."""
    if answer.headers.get("content-encoding", "identity") != "identity":
        raise ValueError("packed")
    assert isinstance(answer.stream, httpx2.AsyncByteStream)  # noqa: S101 - of a client like these
    answer.stream = _Counted(answer.stream)


class _Counted(httpx2.AsyncByteStream):
    """The bytes of an answer, as long as they are not too many."""

    def __init__(self, stream: httpx2.AsyncByteStream) -> None:
        self._stream = stream

    async def __aiter__(self) -> AsyncIterator[bytes]:
        read = 0
        async for chunk in self._stream:
            read += len(chunk)
            if read > MOST_BYTES:
                raise TooLong
            yield chunk

    async def aclose(self) -> None:
        await self._stream.aclose()


@asynccontextmanager
async def in_time(seconds: float) -> AsyncIterator[None]:
    """Ask the provider, and say plainly what came of it."""
    try:
        async with asyncio.timeout(seconds):
            yield
    except (TimeoutError, httpx2.TimeoutException):
        raise ProviderAway(f"no answer within {seconds:g} s") from None
    except httpx2.ConnectError as failure:
        trust = "CERTIFICATE_VERIFY_FAILED" in str(failure)
        raise ProviderAway("its certificate is not trusted" if trust else "no connection") from None
    except TooLong:
        raise ProviderAway(
            f"it answered more than {MOST_BYTES:_} bytes".replace("_", " ")
        ) from None
    except OAuthError as refusal:
        raise ProviderRefused(str(refusal.error)) from None
    except (httpx2.HTTPError, httpx2.InvalidURL, OSError):
        raise ProviderAway("the connection broke, or it answered with a fault") from None
    except (JoseError, KeyError, TypeError, ValueError):
        raise ProviderAway("it answered what cannot be read") from None


async def keys_at(address: str) -> KeySet:
    """The keys that a provider signs with, from where it says they are."""
    said: Any = await get_json(address)
    return KeySet.import_key_set(said)


async def get_json(address: str) -> dict[str, Any]:
    """What stands at an address, a JSON object."""
    async with httpx2.AsyncClient(**bounded()) as client:
        answer = await client.get(address, headers={"accept": "application/json"})
        answer.raise_for_status()
        said = answer.json()
    if not isinstance(said, dict):
        raise TypeError(address)
    return said


def bounded() -> dict[str, Any]:
    """How a client asks a provider that the machine trusts, however long the provider would answer.

    By way of the proxy that the environment names, if any: a way of its own would go past that.
    """
    hooks = {"request": [_as_it_is], "response": [_count]}
    return {"verify": trusted(), "event_hooks": hooks, "timeout": None}


@cache
def trusted() -> ssl.SSLContext:
    """Whom the machine trusts, a hospital's own authority too; reading it takes a while."""
    return ssl.create_default_context()
