"""Whether the provider of sign-ins could be used now, in words."""

import asyncio

from server.domain.sign_on import SignOn
from server.services.sso_open import MODULE, open_provider
from server.services.sso_refusals import LibraryMissing, ProviderAway


def provider_in_words(sign_on: SignOn, module: str = MODULE) -> tuple[str, bool]:
    """Ask the provider for what it says of itself; answer how that went, and whether it is fine."""
    return asyncio.run(_asked(sign_on, module))


async def _asked(sign_on: SignOn, module: str) -> tuple[str, bool]:
    try:
        await open_provider(sign_on, module).greet()
    except LibraryMissing as missing:
        return f"needs the extra sso: pip install 'fourth-hour[sso]' ({missing})", False
    except ProviderAway as away:
        return f"{sign_on.issuer} cannot be used: {away.why}", False
    return f"{sign_on.issuer} answers, and says what it has to", True
