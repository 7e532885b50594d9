"""The account of single sign-on of a member of staff, in words."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from server.domain.wording import dated_time
from server.store.sso import Link


@dataclass(frozen=True, slots=True)
class LinkView:
    """What an account is called there and since when; `linked` is empty until somebody came by it.

    `elsewhere`: it is of a provider that the board does not use any more, and opens nothing.
    """

    account: str
    entered: str
    linked: str
    elsewhere: bool


def link_view(link: Link, app: Any, zone: ZoneInfo, now: datetime) -> LinkView:
    """Answer an account as it is shown."""
    sign_on = app.state.settings.sign_on
    return LinkView(
        account=link.account,
        entered=dated_time(link.entered_at, zone, now),
        linked="" if link.linked_at is None else dated_time(link.linked_at, zone, now),
        elsewhere=sign_on is None or sign_on.issuer != link.issuer,
    )
