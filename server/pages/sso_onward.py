"""On to the provider of sign-ins: by a page of our own, which a browser leaves at once.

A redirect would be the answer to a form, and the policy of our pages lets forms lead nowhere else.
So it need not be widened for any provider, nor for wherever that one sends people on to.
"""

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fastapi import Request, Response

from server.pages.links import SIGN_ON
from server.pages.page_head import page_head
from server.pages.rendering import page
from server.pages.visitors import now_of
from server.pages.ward_setting import UTC_ZONE
from server.services.sso_refusals import ProviderAway

if TYPE_CHECKING:
    from server.services.sso_provider import Provider

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Way:
    """The way to sign in at the provider, as a page offers it. `alone`: passwords are not taken."""

    label: str
    href: str
    alone: bool


def provider_of(app: Any) -> "Provider | None":
    """Answer the provider that the board uses, None without one."""
    provider: Provider | None = app.state.provider
    return provider


def way_of(app: Any) -> Way | None:
    """Answer how people sign in at the provider, None where they cannot."""
    settings = app.state.settings
    if settings.sign_on is None:
        return None
    return Way(settings.sso_label, SIGN_ON, alone=not settings.passwords_for_all)


def onward(request: Request, address: str, title: str, why: str) -> Response:
    """Answer a page that goes on to an address of the provider."""
    head = page_head(now_of(request), UTC_ZONE)
    return page("sign_in/onward.html", head=head, address=address, title=title, why=why)


async def onward_after(request: Request, id_token: str) -> Response | None:
    """After somebody signed out here: on to where they sign out at the provider too.

    None where they did not come from there, it has no such place, or it does not answer.
    """
    provider = provider_of(request.app)
    if provider is None or not id_token:
        return None
    try:
        address = await provider.leaving_address(id_token)
    except ProviderAway as away:
        _LOG.warning("the provider of sign-ins is away: %s", away.why)
        return None
    label = provider.sign_on.label
    why = f"You are signed out here. You are now signed out of {label} too."
    return onward(request, address, "Signed out", why) if address else None
