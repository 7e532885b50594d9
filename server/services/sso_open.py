"""Open the provider that a board is set to use."""

from importlib import import_module
from typing import TYPE_CHECKING

from server.domain.sign_on import SignOn
from server.services.sso_refusals import LibraryMissing

if TYPE_CHECKING:
    from server.services.sso_provider import Provider

MODULE = "server.services.sso_provider"


def open_provider(sign_on: SignOn | None, module: str = MODULE) -> "Provider | None":
    """Answer the provider, None where none is set. Raises `LibraryMissing`.

    What it stands on is loaded here and not before: a board without single sign-on has no need
    of it. Nobody is asked anything yet; a provider that is away keeps no board from starting.
    """
    if sign_on is None:
        return None
    try:
        found = import_module(module)
    except ImportError as missing:
        raise LibraryMissing(f"{missing.name}") from missing
    provider: Provider = found.Provider(sign_on)
    return provider
