"""An instant that an address asks for: one that has been."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from server.pages.boards.replay import asked_instant
from server.pages.forms.entry import Wrong

AHEAD: Final = "lies in the future; expected an instant that has been"


def past_instant(name: str, asked: Mapping[str, str], now: datetime) -> datetime | None:
    """Answer the instant asked for under a name, None without one. Raises `Wrong`.

    What has not been is refused: a page must not tell of limits that nobody has passed yet.
    """
    instant = asked_instant(name, asked)
    if instant is not None and instant > now:
        raise Wrong({name: AHEAD})
    return instant
