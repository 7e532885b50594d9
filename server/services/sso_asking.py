"""Ask a provider of sign-ins over HTTP, for so long and no longer, and say what came of it."""

import asyncio
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from typing import Any

import httpx2
from authlib.integrations.base_client import OAuthError
from joserfc.errors import JoseError
from joserfc.jwk import KeySet

from server.services.sso_refusals import ProviderAway, ProviderRefused


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
    async with httpx2.AsyncClient(verify=trusted(), timeout=None) as client:
        answer = await client.get(address, headers={"accept": "application/json"})
        answer.raise_for_status()
        said = answer.json()
    if not isinstance(said, dict):
        raise TypeError(address)
    return said


@cache
def trusted() -> ssl.SSLContext:
    """Whom the machine trusts, a hospital's own authority too; reading it takes a while."""
    return ssl.create_default_context()
