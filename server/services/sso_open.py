"""Open the provider that a board is set to use."""

from importlib import import_module
from typing import TYPE_CHECKING, Final

from server.domain.sign_on import SignOn
from server.services.sso_refusals import LibraryMissing

if TYPE_CHECKING:
    from server.services.sso_provider import Provider

MODULE: Final = "server.services.sso_provider"


def open_provider(sign_on: SignOn, module: str = MODULE) -> "Provider":
    """Answer the provider. Raises `LibraryMissing`.

    What it stands on is loaded here and not before: a board without single sign-on has no need
    of it. Nobody is asked anything yet; a provider that is away keeps no board from starting.
    """
    try:
        found = import_module(module)
    except ImportError as missing:
        raise LibraryMissing((missing.name or module).partition(".")[0]) from missing
    provider: Provider = found.Provider(sign_on)
    return provider
